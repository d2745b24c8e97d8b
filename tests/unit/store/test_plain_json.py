"""What goes into a JSON column comes out as it was."""

import json
from typing import Any

import pytest

from ticketbridge.model.verdict import Answer, Verdict
from ticketbridge.store.plain_json import json_text


@pytest.mark.parametrize(
    "value",
    [
        {"name": "Straße/été.pdf", "lines": [1, 2.5, None, True]},
        {"name": "caf\udce9.pdf"},  # a byte that is no UTF-8, as Python reads it in a file's name
        [[], {}, "", 0],
    ],
    ids=["plain", "a name that is no UTF-8", "empty"],
)
def test_plain_values_come_back(value: Any) -> None:
    assert json.loads(json_text(value)) == value


@pytest.mark.parametrize("name", ["art.pdf", "caf\udce9.pdf"], ids=["UTF-8", "not UTF-8"])
def test_a_verdict_comes_back_from_the_list_that_is_kept_of_it(name: str) -> None:
    verdict = Verdict(
        "width", Answer.AFTER_CHANGE, "lanes.width-ok", {"name": name, "width_mm": 1600.0}, 12.5
    )

    assert Verdict.from_json(json.loads(json_text([verdict]))[0]) == verdict

"""Where values of a JSON document begin, judged by a search that knows nothing of JSON's structure."""

import json
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from ticketbridge.extract.json_lines import lines_of

TEXT = """{
 "a/b": [1,
  {"c": "x,\\n}{\\"",
 "d~": []}],
 "e": {},
 "f": null
}"""
NAMES = st.text(max_size=5)
DOCUMENTS = st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(), st.text(max_size=5)),
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(NAMES, inner, max_size=3)),
    max_leaves=10,
)


def pointers(value: Any, pointer: str = "") -> list[str]:
    """Every value's pointer in the order of the text, one value a line as an indented dump has them."""
    found = [pointer]
    members = (
        value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    )
    for name, inner in members:
        found += pointers(inner, f"{pointer}/{str(name).replace('~', '~0').replace('/', '~1')}")
    return found


def test_values_know_the_line_that_they_begin_on() -> None:
    assert lines_of(TEXT) == {
        "": 1, "/a~1b": 2, "/a~1b/0": 2, "/a~1b/1": 3, "/a~1b/1/c": 3, "/a~1b/1/d~0": 4, "/e": 5, "/f": 6,
    }  # fmt: skip


@given(DOCUMENTS)
def test_every_value_has_a_line_and_lines_go_down_the_document(document: Any) -> None:
    text = json.dumps(document, indent=1)
    lines = lines_of(text)

    assert list(lines) == pointers(document)
    assert list(lines.values()) == sorted(lines.values())
    assert len(set(lines.values())) == len(lines)  # indented, no two values begin on one line


def test_a_document_on_one_line_has_all_values_on_it() -> None:
    assert set(lines_of('{"a": [1, {"b": "\\\\n"}], "c": {}}').values()) == {1}

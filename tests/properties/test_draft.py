"""Whatever stands in a file, a draft of it is a mapping that loads, or there is none with a reason."""

import csv
import io
import json
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML

from ticketbridge.config.load import load_shop
from ticketbridge.config.sample import copy_sample_shop
from ticketbridge.model.lookup import LookupTable
from ticketbridge.model.reads import Reads
from ticketbridge.model.shop import Shop
from ticketbridge.prove.draft.draft import draft
from ticketbridge.prove.draft.survey import NothingFound

NAMES = st.one_of(
    st.sampled_from(["order", "Auftrag", "qty", "Breite cm", "size", "file", "Weiß", "material", "due", "item", "@x", "a:b", "kind"]),
    st.text(min_size=1, max_size=8),
)  # fmt: skip
VALUES = st.one_of(
    st.sampled_from(["145 x 170", "1,45", "1.45", "ja", "nein", "a.pdf", "01.02.2026", "2026-02-01", "BAN510", "***", "80 left"]),
    st.integers(0, 5000),
    st.booleans(),
    st.none(),
    st.text(max_size=8),
)  # fmt: skip
DOCUMENTS = st.recursive(
    st.dictionaries(NAMES, VALUES, max_size=5),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3), st.dictionaries(NAMES, st.one_of(VALUES, inner), max_size=4)
    ),
    max_leaves=8,
)


@cache
def sample_shop() -> Shop:
    with TemporaryDirectory() as folder:
        copy_sample_shop(Path(folder) / "shop")
        return load_shop(Path(folder) / "shop").shop


def loads(text: str) -> None:
    found: dict[str, Any] = YAML(typ="safe").load(text)
    if "reads" in found:
        Reads.model_validate(found["reads"])
    for table in found.get("tables", {}).values():
        LookupTable.model_validate(table)


@settings(max_examples=150, deadline=None)
@given(document=DOCUMENTS)
def test_a_draft_of_json_loads(document: Any) -> None:
    try:
        text = draft([("a.json", json.dumps(document).encode())], sample_shop())
    except NothingFound:
        return
    loads(text)


@settings(max_examples=150, deadline=None)
@given(
    table=st.integers(2, 6).flatmap(
        lambda width: st.lists(
            st.lists(st.one_of(NAMES, VALUES), min_size=width, max_size=width), min_size=2, max_size=5
        )
    )
)
def test_a_draft_of_csv_loads(table: list[list[Any]]) -> None:
    written = io.StringIO(newline="")
    csv.writer(written, delimiter=";").writerows(table)
    try:
        text = draft([("a.csv", written.getvalue().encode())], sample_shop())
    except NothingFound:
        return
    loads(text)

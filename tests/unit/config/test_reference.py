"""The tables of the README files say what the code says."""

import json

import pytest
from jsonschema import Draft202012Validator
from ruamel.yaml import YAML

from ticketbridge.accept.litter import ARTWORK_ENDINGS, LITTER_BEGINNINGS, LITTER_ENDINGS, LITTER_NAMES
from ticketbridge.config.editors import EDITOR_FOLDER, editor_schemas
from ticketbridge.config.reference import CHECKOUT, tables_by_file, with_tables


@pytest.mark.parametrize("file", sorted(tables_by_file()))
def test_the_tables_are_fresh(file):
    text = (CHECKOUT / file).read_text(encoding="utf-8")

    assert with_tables(text, tables_by_file()[file]) == text, "run: python -m ticketbridge.config.reference"


@pytest.mark.parametrize("name", sorted(editor_schemas()))
def test_the_schemas_for_editors_are_fresh(name):
    text = (CHECKOUT / "schemas" / EDITOR_FOLDER / name).read_text(encoding="utf-8")

    assert editor_schemas()[name] == text, "run: python -m ticketbridge.config.reference"


@pytest.mark.parametrize(
    "file", sorted((CHECKOUT / "hotfolders/sample-shop").glob("*.yaml")), ids=lambda f: f.name
)
def test_a_file_of_the_sample_shop_fits_its_schema_and_a_misspelt_key_does_not(file):
    schema = Draft202012Validator(json.loads(editor_schemas()[f"{file.stem}.schema.json"]))
    data = json.loads(json.dumps(YAML(typ="safe").load(file.read_text(encoding="utf-8"))))

    assert [error.message for error in schema.iter_errors(data)] == []
    assert not schema.is_valid(data | {"nmae": 1})


def test_every_file_of_the_sample_shop_names_its_schema():
    sample = CHECKOUT / "hotfolders/sample-shop"
    files = dict.fromkeys(sample.glob("*.yaml"), "") | dict.fromkeys(sample.glob("mappings/*.yaml"), "../")

    for file, up in files.items():
        stem = "mapping" if up else file.stem
        first = file.read_text(encoding="utf-8").splitlines()[0]
        assert f"# yaml-language-server: $schema={up}editor/{stem}.schema.json" == first


def test_a_table_that_is_not_fresh_is_replaced():
    begin, end = "<!-- keys: generated, begin -->", "<!-- keys: generated, end -->"

    assert f"above\n{begin}\nnew\n{end}\nbelow" == with_tables(
        f"above\n{begin}\nold\n{end}\nbelow", {"keys": "new"}
    )


def test_a_readme_without_a_place_for_its_table_is_an_error():
    with pytest.raises(ValueError, match="must stand in the text"):
        with_tables("no place here", {"keys": "table"})


def test_the_operator_reads_of_everything_that_is_left_alone():
    text = (CHECKOUT / "hotfolders/README.md").read_text(encoding="utf-8")
    listed = text.partition("<!-- litter -->")[2].partition("<!-- /litter -->")[0].strip().splitlines()[2:]

    assert [
        *(f"| `{beginning}*` | {what} |" for beginning, what in LITTER_BEGINNINGS.items()),
        *(f"| `*{ending}` | {what} |" for ending, what in LITTER_ENDINGS.items()),
        *(f"| `{name}` | {what} |" for name, what in LITTER_NAMES.items()),
    ] == listed
    assert all(f"`{ending}`" in text for ending in ARTWORK_ENDINGS)

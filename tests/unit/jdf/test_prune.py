"""The pruned copy holds our vocabulary and nothing else, on the same lines."""

import pytest

from tests.unit.jdf.tickets import GOLDEN, NAMESPACE, ORDER, changed, root_of
from ticketbridge.jdf.kinds import kind_of_root
from ticketbridge.jdf.prune import prune
from ticketbridge.jdf.writing import as_bytes
from ticketbridge.vocabulary.names import jdf

WITH_MORE = changed(ORDER, ("<ResourcePool>", '<ResourcePool a="1"><Unknown/>'))
XSI = 'xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"'


def pruned(document: str) -> bytes:
    return as_bytes(prune(root_of(document), kind_of_root("JDF")).root)


def test_foreign_elements_and_attributes_go() -> None:
    plain = pruned(ORDER)
    with_foreign = changed(
        ORDER,
        ("<ResourcePool>", '<ResourcePool xmlns:x="urn:x" x:a="1">\n<x:Thing><MediaIntent/></x:Thing>'),
    )
    assert pruned(with_foreign).replace(b' xmlns:x="urn:x"', b"") == plain


def test_words_of_the_standard_that_we_do_not_use_go() -> None:
    assert b"ExposedMedia" not in pruned(changed(ORDER, ("<ResourcePool>", "<ResourcePool><ExposedMedia/>")))
    assert b"UserMediaType" not in pruned(changed(ORDER, ('ID="mi"', 'ID="mi" UserMediaType="x"')))


def test_xsi_type_goes_even_when_nobody_knows_it() -> None:
    assert b"Unheard" not in pruned(changed(ORDER, ("<JDF ", f'<JDF {XSI} xsi:type="x:Unheard" ')))


def test_a_word_goes_where_its_place_does_not_know_it() -> None:
    misplaced = f'<JDF {NAMESPACE} ID="a" Type="Product" Status="Waiting"><Thickness/><ResourcePool Preferred="1"/></JDF>'
    assert b"Thickness" not in pruned(misplaced)
    assert b"Preferred" not in pruned(misplaced)


def test_the_document_itself_is_not_touched() -> None:
    root = root_of(WITH_MORE)
    before = as_bytes(root)
    prune(root, kind_of_root("JDF"))
    assert as_bytes(root) == before


def test_lines_are_kept() -> None:
    root = root_of((GOLDEN / "complete-1.9.jdf").read_bytes())
    copy = prune(root, kind_of_root("JDF")).root
    lines = {element.get("ID"): element.sourceline for element in root.iter(jdf("*")) if element.get("ID")}
    assert {element.get("ID"): element.sourceline for element in copy.iter() if element.get("ID")} == lines


def test_every_element_of_the_copy_has_its_kind() -> None:
    result = prune(root_of(ORDER), kind_of_root("JDF"))
    assert {element for element, _ in result.elements} == set(result.root.iter(jdf("*")))
    kinds = {kind.name for _, kind in result.elements}
    assert {"JDF", "MediaIntent", "PositiveNumberSpan", "ResourceLink"} <= kinds


def test_a_document_that_holds_nothing_else_is_not_copied() -> None:
    root = root_of(ORDER)
    assert prune(root, kind_of_root("JDF")).root is root


@pytest.mark.parametrize("document", [ORDER, WITH_MORE], ids=["all known", "with what we do not know"])
def test_a_spent_document_is_itself_what_a_copy_of_it_would_be(document: str) -> None:
    root = root_of(document)

    spent = prune(root, kind_of_root("JDF"), spent=True)

    assert spent.root is root
    assert as_bytes(root) == pruned(document)

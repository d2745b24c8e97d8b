"""Whatever comes, there is an answer: findings or none, never an exception."""

from hypothesis import given
from hypothesis import strategies as st

from tests.unit.jdf.tickets import GOLDEN, LIMITS, MESSAGE, ORDER, root_of
from ticketbridge.jdf.check import check
from ticketbridge.jdf.read_ticket import read_ticket
from ticketbridge.jdf.validate import validate_document
from ticketbridge.jdf.versions import fit_to_version
from ticketbridge.model.codes import remedy, sentence
from ticketbridge.vocabulary.names import JDF_VERSIONS

DOCUMENTS = [ORDER.encode(), MESSAGE.encode(), (GOLDEN / "complete-1.9.jdf").read_bytes()]
TEXT = st.text(st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"]), max_size=70)


@given(st.sampled_from(DOCUMENTS), st.lists(st.tuples(st.integers(0), st.binary(max_size=4)), max_size=4))
def test_spoiled_bytes_have_findings_and_no_crash(document: bytes, spoils: list[tuple[int, bytes]]) -> None:
    for where, what in spoils:
        at = where % len(document)
        document = document[:at] + what + document[at + len(what) :]
    for finding in validate_document(document, LIMITS, "t.jdf"):
        assert sentence(finding)
        assert remedy(finding)


@given(st.sampled_from(DOCUMENTS), st.integers(0), TEXT)
def test_any_attribute_may_say_anything(document: bytes, which: int, text: str) -> None:
    root = root_of(document)
    places = [(element, name) for element in root.iter("*") for name in map(str, element.attrib)]
    element, name = places[which % len(places)]
    element.set(name, text)
    for finding in [*check(root, "t.jdf"), *read_ticket(root, "t.jdf")[1]]:
        assert sentence(finding).isprintable()


@given(st.sampled_from(DOCUMENTS), st.integers(0), st.integers(0))
def test_any_element_may_stand_anywhere(document: bytes, what: int, where: int) -> None:
    root = root_of(document)
    elements = list(root.iter("*"))
    moved, place = elements[1:][what % (len(elements) - 1)], elements[where % len(elements)]
    if moved not in [place, *place.iterancestors()]:
        place.append(moved)
    check(root, "t.jdf")
    read_ticket(root, "t.jdf")


@given(st.sampled_from(DOCUMENTS), st.sampled_from(JDF_VERSIONS[1:]))
def test_fitting_to_a_version_never_makes_a_right_document_wrong(document: bytes, version: str) -> None:
    root = root_of(document)
    fit_to_version(root, version)
    assert [finding for finding in check(root, "t.jdf") if finding.code == "ticket.attribute-missing"] == []

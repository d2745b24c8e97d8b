"""Looking at a document without wanting an order of it."""

from tests.unit.jdf.tickets import LIMITS, MESSAGE, NAMESPACE, ORDER, changed, codes
from ticketbridge.jdf.validate import validate_document


def found(document: str) -> list[str]:
    return codes(validate_document(document.encode(), LIMITS, "t.jdf"))


def test_a_right_order_and_a_right_message_have_no_findings() -> None:
    assert found(ORDER) == []
    assert found(MESSAGE) == []


def test_bytes_that_are_no_document_are_said_to_be_so() -> None:
    assert found("<JDF") == ["xml.not-well-formed"]


def test_a_ticket_that_is_no_order_is_right_all_the_same() -> None:
    assert found(f'<JDF {NAMESPACE} ID="n" Type="Combined" Types="Cutting" Status="Waiting"/>') == []
    assert found(f'<JDF {NAMESPACE} ID="n" Type="Product" Status="Waiting"/>') == []


def test_an_order_that_lacks_something_is_right_as_a_document() -> None:
    assert found(changed(ORDER, (' Amount="4"', ""), (' JobID="HG-1"', ""))) == []


def test_a_doubtful_unit_is_said() -> None:
    assert found(changed(ORDER, ('Preferred="500"', 'Preferred="0.5"'))) == ["ticket.unit-doubtful"]


def test_what_the_schema_refuses_is_not_said_twice() -> None:
    assert found(changed(ORDER, ('Preferred="500"', 'Preferred="0.5 mm"'))) == ["ticket.attribute-wrong"]

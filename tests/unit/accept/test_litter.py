"""What lies in a drop folder and is no ticket."""

import pytest

from ticketbridge.accept.litter import Kind, kind_of


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("order.jdf", Kind.TICKET),
        ("ORDER.JDF", Kind.TICKET),
        ("order.xml", Kind.TICKET),
        ("art.pdf", Kind.PDF),
        ("art.TIFF", Kind.ARTWORK),
        ("order.jdf.tmp", Kind.LITTER),
        ("order.JDF.FilePart", Kind.LITTER),
        ("order.jdf.crdownload", Kind.LITTER),
        (".order.jdf", Kind.LITTER),
        ("._order.jdf", Kind.LITTER),
        ("~$order.xml", Kind.LITTER),
        ("order.jdf~", Kind.LITTER),
        ("@eaDir", Kind.LITTER),
        ("Thumbs.db", Kind.LITTER),
        ("desktop.ini", Kind.LITTER),
        ("orders.csv", Kind.ORDER_LINES),
        ("orders.xlsx", Kind.SHEET),
        ("Orders.JSON", Kind.JSON),
        ("hold.jmf", Kind.MESSAGE),
        ("notes.txt", Kind.UNKNOWN),
        ("order", Kind.UNKNOWN),
    ],
)
def test_a_name_is_taken_for_what_it_is(name: str, kind: Kind) -> None:
    assert kind_of(name) is kind

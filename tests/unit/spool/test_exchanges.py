"""The record of exchanges: a few of each partner, both bodies, and no harm where it cannot be written."""

from pathlib import Path

from tests.unit.made import NOW
from ticketbridge.model.exchange import Exchange
from ticketbridge.spool.exchanges import BODY_CHARACTERS, KEPT, Exchanges, read_exchanges


def exchange(body: str, partner: str = "mis.http") -> Exchange:
    return Exchange(partner, "sent", "http://mis.example/", body, 200, "<JMF/>", "received")


def test_the_last_of_each_partner_are_kept_in_order_through_a_restart(tmp_path: Path) -> None:
    for start in (0, 40):
        kept = Exchanges(tmp_path / "exchanges", lambda: NOW)
        for number in range(start, start + 40):
            kept.note(exchange(str(number)))
    kept.note(exchange("other", partner="press.HL-P1-A"))

    mine = read_exchanges(tmp_path / "exchanges", "mis.http")
    assert [one.exchange.body for one in mine] == [str(number) for number in range(80 - KEPT, 80)]
    assert len(read_exchanges(tmp_path / "exchanges")) == KEPT + 1


def test_a_long_body_is_cut(tmp_path: Path) -> None:
    Exchanges(tmp_path, lambda: NOW).note(exchange("x" * 1_000_000))

    assert len(read_exchanges(tmp_path)[0].exchange.body) == BODY_CHARACTERS


def test_where_it_cannot_be_written_the_exchange_goes_on(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    Exchanges(tmp_path / "file", lambda: NOW).note(exchange("1"))

    assert read_exchanges(tmp_path / "file") == []


def test_a_torn_record_is_left_out(tmp_path: Path) -> None:
    Exchanges(tmp_path, lambda: NOW).note(exchange("1"))
    (tmp_path / "mis.http" / "00000002.json").write_text('{"at": "20')

    assert [one.exchange.body for one in read_exchanges(tmp_path)] == ["1"]

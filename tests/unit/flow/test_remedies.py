"""A refusal names its remedy; followed to the letter, the remedy works."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from lxml import etree

from tests.unit.flow.bench import BANNER, CANVAS, Bench
from ticketbridge.accept.claim import Claimed
from ticketbridge.daemon.request_box import answer_requests
from ticketbridge.demo.orders import ORDERS
from ticketbridge.flow.accepting import accept
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.requests import answer
from ticketbridge.flow.rescue import rescue_claims
from ticketbridge.model.press import Lane
from ticketbridge.model.request import Request, Wish
from ticketbridge.spool import durable
from ticketbridge.vocabulary.names import jdf


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path / "shop")


@pytest.fixture
def bridge(bench: Bench) -> Bridge:
    return bench.restart()


def refusal(bench: Bench, bridge: Bridge, claimed: Claimed) -> list[str]:
    """The codes that a file is refused with."""
    accept(bridge, [claimed])
    with bridge.store.transaction() as tx:
        place, findings = tx.intake_outcome(claimed.claim_id)
    assert place == "refused"
    return [finding.code for finding in findings]


def taken(bench: Bench, bridge: Bridge, claimed: Claimed) -> bool:
    accept(bridge, [claimed])
    with bridge.store.transaction() as tx:
        return tx.intake_outcome(claimed.claim_id)[0] == "accepted"


def without(element: str) -> Any:
    def change(data: bytes) -> bytes:
        root = etree.fromstring(data)
        for found in list(root.iter(jdf(element))):
            found.getparent().remove(found)
        return etree.tostring(root)

    return change


def test_no_artwork_then_an_art_delivery_intent(bench: Bench, bridge: Bridge) -> None:
    def no_art(data: bytes) -> bytes:
        return without("ArtDeliveryIntentLink")(without("ArtDeliveryIntent")(data))

    assert refusal(bench, bridge, bench.claim(bench.drop(BANNER, no_art))) == ["artwork.none"]
    assert taken(bench, bridge, bench.claim(bench.drop(BANNER)))


def test_missing_artwork_then_the_artwork_first(bench: Bench, bridge: Bridge) -> None:
    name = bench.drop(BANNER)
    (bench.source.drop / "art" / f"{BANNER.job_id}.pdf").unlink()

    assert refusal(bench, bridge, bench.claim(name)) == ["artwork.missing"]
    assert taken(bench, bridge, bench.claim(bench.drop(BANNER)))


def test_artwork_outside_then_below_the_drop_folder(bench: Bench, bridge: Bridge) -> None:
    def outside(data: bytes) -> bytes:
        return data.replace(b"art/HL-24117.pdf", b"../../../shop.yaml")

    assert refusal(bench, bridge, bench.claim(bench.drop(BANNER, outside))) == ["artwork.outside"]
    assert taken(bench, bridge, bench.claim(bench.drop(BANNER)))


def test_an_unfinished_file_then_the_whole_one(bench: Bench, bridge: Bridge) -> None:
    half = bench.claim(bench.drop(CANVAS, lambda data: data[:400]), whole=False)

    assert refusal(bench, bridge, half)[0] == "intake.unfinished"
    assert taken(bench, bridge, bench.claim(bench.drop(CANVAS)))


def test_rigid_board_then_a_flexible_substrate(bench: Bench, bridge: Bridge) -> None:
    board = ORDERS[6]
    codes = refusal(bench, bridge, bench.claim(bench.drop(board)))

    assert codes[0] == "route.no-lane"
    assert set(codes) > {"lanes.rigid"}
    assert taken(bench, bridge, bench.claim(bench.drop(replace(board, stock_brand="Harbour Vinyl White"))))


def test_a_change_of_what_the_press_has_then_under_a_job_id_of_its_own(bench: Bench, bridge: Bridge) -> None:
    assert taken(bench, bridge, bench.claim(bench.drop(CANVAS)))
    more = replace(CANVAS, quantity=9)

    assert refusal(bench, bridge, bench.claim(bench.drop(more))) == ["job.at-press"]
    assert taken(bench, bridge, bench.claim(bench.drop(replace(more, job_id="HL-24118-2"))))


def test_broken_xml_then_whole_xml(bench: Bench, bridge: Bridge) -> None:
    broken = bench.claim(bench.drop(BANNER, lambda data: data.replace(b'Amount="3"', b"Amount=3")))

    assert refusal(bench, bridge, broken) == ["xml.not-well-formed"]
    assert taken(bench, bridge, bench.claim(bench.drop(BANNER)))


def test_a_request_that_cannot_be_read_is_answered_and_gone(bench: Bench, bridge: Bridge) -> None:
    for box in (bridge.places.requests, bridge.places.replies):
        box.mkdir()
    (bridge.places.requests / "1.json").write_text('{"wish": "fly"}')

    assert answer_requests(bridge)
    assert "request.unreadable" in (bridge.places.replies / "1.json").read_text()
    assert list(bridge.places.requests.iterdir()) == []


def test_a_shop_with_other_lanes_needs_a_restart_before_refused_tickets_are_tried_again(
    bench: Bench, bridge: Bridge
) -> None:
    press = bridge.shop.presses["P2"]
    lane: Lane = press.lanes[0].model_copy(update={"folder": "lanes/elsewhere"})
    moved = press.model_copy(update={"lanes": (lane,)})
    bridge.reload = lambda: bridge.shop.model_copy(update={"presses": {**bridge.shop.presses, "P2": moved}})

    [finding] = answer(bridge, Request(Wish.RETRY, "admin"), "r1").findings
    assert finding.code == "request.restart-needed"


def test_a_file_without_rights_to_read_then_with_them(
    bench: Bench, bridge: Bridge, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_right(path: Path, limit_bytes: int) -> bytes:
        raise PermissionError(13, "Permission denied")

    closed, good = bench.claim(bench.drop(BANNER)), bench.claim(bench.drop(CANVAS))
    reading = durable.read_and_sync
    monkeypatch.setattr(
        durable,
        "read_and_sync",
        lambda path, limit: (no_right if path == closed.path else reading)(path, limit),
    )
    accept(bridge, [closed, good])
    monkeypatch.undo()

    assert bench.files(bench.source.accepted) == [CANVAS.file_name]
    assert bench.files(bench.source.refused) == [BANNER.file_name, f"{BANNER.file_name}.findings.txt"]
    assert taken(bench, bridge, bench.claim(bench.drop(BANNER)))


def test_a_file_that_was_taken_in_meanwhile_is_passed_over(bench: Bench, bridge: Bridge) -> None:
    claimed = bench.claim(bench.drop(BANNER))
    accept(bridge, [claimed])

    assert accept(bridge, [claimed]) == []
    with bridge.store.transaction() as tx:
        assert len(tx.all_jobs()) == 1


def test_a_source_that_is_not_mounted_keeps_nobody_waiting_and_is_rescued_when_it_is_back(
    bench: Bench,
) -> None:
    claimed = bench.claim(bench.drop(BANNER))
    marker = bench.source.claimed / ".ticketbridge"
    marker.unlink()
    bridge = bench.restart()

    assert bridge.unfinished_sources == {"mis"}
    marker.touch()
    rescue_claims(bridge, "mis", count=False)
    assert bridge.unfinished_sources == set()
    assert bench.files(bench.source.accepted) == [claimed.original_name]

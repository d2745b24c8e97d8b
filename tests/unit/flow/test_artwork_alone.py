"""A PDF dropped alone becomes a job of its page's size, and stays where the press opens it."""

from datetime import timedelta
from pathlib import Path

import pytest

from tests.unit.accept.pdfs import pdf
from tests.unit.flow.bench import Bench, press_returns
from ticketbridge.accept.claim import Claimed
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.model.job import Job
from ticketbridge.model.job_states import State

PAGE = "/MediaBox [0 0 720 360]"
"""254 by 127 mm."""


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path / "shop")


@pytest.fixture
def bridge(bench: Bench) -> Bridge:
    return bench.restart()


def take(bench: Bench, bridge: Bridge, name: str, data: bytes) -> Claimed:
    (bench.pdf_drop.drop / name).write_bytes(data)
    claimed = bench.claim(name, at="pdf-drop")
    accept(bridge, [claimed])
    return claimed


def all_jobs(bridge: Bridge) -> list[Job]:
    with bridge.store.transaction() as tx:
        return [tx.job(job.queue_entry_id) for job in tx.all_jobs()]


def refusal(bench: Bench) -> str:
    [note] = bench.pdf_drop.refused.glob("*.findings.txt")
    return note.read_text()


def test_name_page_and_standing_ticket_make_the_order(bench: Bench, bridge: Bridge) -> None:
    claimed = take(bench, bridge, "HL-7_3x_Fair banner.pdf", pdf(PAGE))

    [job] = all_jobs(bridge)
    item = job.item
    assert (job.order.job_id, item.quantity, item.descriptive_name) == ("HL-7", 3, "Fair banner")
    assert (item.finished_width_mm, item.finished_height_mm, item.bleed_mm) == (254, 127, 0)
    assert item.substrate == "BAN510"
    assert job.order.due is not None
    assert job.order.due.date() == (job.submitted_at + timedelta(days=3)).date()
    assert item.artwork is not None
    assert item.artwork.url == (bench.pdf_drop.artwork / claimed.path.name).resolve().as_uri()
    assert (bench.pdf_drop.artwork / claimed.path.name).is_file()
    assert bench.signals(bridge, "pdf-drop") == ["Notification TicketAccepted", "QueueStatus Q000001:Waiting"]


def test_each_page_is_an_item_of_its_own_size(bench: Bench, bridge: Bridge) -> None:
    take(bench, bridge, "HL-7_1x_Set.pdf", pdf(PAGE, "/MediaBox [0 0 720 720]"))

    assert [
        (job.item.job_part_id, job.item.finished_height_mm, job.item.artwork and job.item.artwork.page)
        for job in all_jobs(bridge)
    ] == [("1", 127, 0), ("2", 254, 1)]


def test_the_same_artwork_on_another_day_is_no_other_job(bench: Bench, bridge: Bridge) -> None:
    take(bench, bridge, "HL-7_3x_Banner.pdf", pdf(PAGE))
    for _ in range(100_000):
        next(bench.clock)  # more than a day
    take(bench, bridge, "HL-7_3x_Banner.pdf", pdf(PAGE))

    assert len(all_jobs(bridge)) == 1
    assert bench.files(bench.pdf_drop.repeated) == ["HL-7_3x_Banner.pdf"]


def test_changed_artwork_replaces_what_the_bridge_still_holds(bench: Bench, bridge: Bridge) -> None:
    bridge.unfinished_lanes.update(bridge.lanes)
    take(bench, bridge, "HL-7_3x_Banner.pdf", pdf(PAGE))
    take(bench, bridge, "HL-7_3x_Banner.pdf", pdf(PAGE + " /Rotate 90"))

    with bridge.store.transaction() as tx:
        assert [job.state for job in tx.all_jobs()] == [State.REMOVED, State.WAITING]


@pytest.mark.parametrize(
    ("name", "data", "code"),
    [
        ("holiday.pdf", pdf(PAGE), "pdf.name-unfit"),
        ("HL-7_3x_" + "n" * 100 + ".pdf", pdf(PAGE), "pdf.name-long"),
        ("HL-7_3x_Banner.pdf", pdf(PAGE)[:100], "pdf.damaged"),
        ("HL-7_3x_Banner.pdf", pdf(PAGE + " /Rotate 45"), "pdf.no-size"),
        ("HL-7_0x_Banner.pdf", pdf(PAGE), "mapping.value-unfit"),
    ],
)
def test_what_cannot_be_an_order_is_refused_with_its_reason(
    bench: Bench, bridge: Bridge, name: str, data: bytes, code: str
) -> None:
    take(bench, bridge, name, data)

    assert code in refusal(bench)
    assert all_jobs(bridge) == []
    assert bench.files(bench.pdf_drop.artwork) == []


def test_a_pdf_whose_end_never_came_is_refused_even_where_a_reader_could_mend_it(
    bench: Bench, bridge: Bridge
) -> None:
    (bench.pdf_drop.drop / "HL-7_3x_Banner.pdf").write_bytes(pdf(PAGE))
    accept(bridge, [bench.claim("HL-7_3x_Banner.pdf", at="pdf-drop", whole=False)])

    assert "intake.unfinished" in refusal(bench)


def test_a_finished_job_of_artwork_alone_comes_back_as_the_press_s_ticket(
    bench: Bench, bridge: Bridge
) -> None:
    take(bench, bridge, "HL-7_3x_Banner.pdf", pdf(PAGE))
    [written] = bench.folder.glob("lanes/*/in/Q*.jdf")
    bench.press_says(bridge, written.parent.parent.name, "P1.jdf", press_returns(written.read_bytes()))

    assert 'JobID="HL-7"' in (bench.pdf_drop.returned / "Q000001.jdf").read_text()

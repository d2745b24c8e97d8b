"""What the press does with tickets, on a clock that the test turns."""

import os
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest

from tests.unit.press_sim.conftest import TurnedClock
from tests.unit.press_sim.tickets import FOREIGN, PRESS_YAML, Bench, Job, Piece, row, ticket, values
from ticketbridge.vocabulary.names import jdf

Work = Callable[..., None]
Problems = Callable[[Path], list[str]]


def boxes(bench: Bench) -> list[tuple[float, ...]]:
    return [(row["x_mm"], row["y_mm"], row["width_mm"], row["height_mm"]) for row in bench.log()]


def test_every_placement_is_printed_once_where_the_layout_wants_it(bench: Bench, work: Work) -> None:
    pieces = [Piece(0, 0, 400, 250), Piece(410, 0, 400, 250), Piece(0, 260, 400, 250)]
    bench.deliver(Job(pieces=pieces, amount=3))
    work()
    assert boxes(bench) == [(p.x_mm, p.y_mm, p.width_mm, p.height_mm) for p in pieces]
    assert [entry["index"] for entry in bench.log()] == [0, 1, 2]


def test_the_log_says_what_was_laid_down_and_for_whom(bench: Bench, work: Work) -> None:
    bench.deliver(Job(pieces=[Piece(10, 20, 300, 1000, rotated=True)], layer_stack="Color White Color"))
    work()
    [entry] = bench.log()
    assert entry == {
        "serial": "HL-P1-00000001",
        "device_id": "HL-P1-A",
        "job_id": "HL-24117",
        "job_part_id": "1.print",
        "index": 0,
        "ord": 0,
        "tile": None,
        "ctm": [0.0, 1.0, -1.0, 0.0, 878.740157, 56.692913],
        "width_mm": 300.0,
        "height_mm": 1000.0,
        "x_mm": 10.0,
        "y_mm": 20.0,
        "rotated": True,
        "artwork": "art/spring-sale.pdf",
        "print_mode": "Banner-6pass",
        "layer_stack": "Color White Color",
        "gang": None,
        "beside": [],
        "at": entry["at"],
    }


def test_pieces_come_off_in_the_order_of_their_trailing_edges(bench: Bench, work: Work) -> None:
    bench.deliver(Job(pieces=[Piece(0, 0, 400, 900), Piece(410, 0, 400, 300), Piece(410, 310, 400, 300)]))
    work()
    assert [entry["index"] for entry in bench.log()] == [1, 2, 0]


def test_the_same_ticket_delivered_twice_is_printed_twice(bench: Bench, work: Work) -> None:
    bench.deliver(Job(), name="same.jdf")
    work()
    bench.deliver(Job(), name="same.jdf")
    work()
    assert [entry["serial"][-1] for entry in bench.log()] == ["1", "1", "2", "2"]
    assert len(bench.files("returned")) == 2


def test_a_file_that_is_still_being_written_is_not_there_yet(bench: Bench, work: Work) -> None:
    for name in (".ticket.jdf", ".ticket.jdf.tmp", "ticket.jdf.tmp", "ticket.txt"):
        (bench.folder / "lanes/A/in" / name).write_bytes(ticket(Job()))
    work()
    assert bench.log() == []
    assert len(list((bench.folder / "lanes/A/in").iterdir())) == 4


def test_a_link_is_not_followed(bench: Bench, work: Work, tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere.xml"
    elsewhere.write_bytes(ticket(Job()))
    (bench.folder / "lanes/A/in/ticket.jdf").symlink_to(elsewhere)
    work()
    assert bench.log() == []


def test_tickets_of_one_lane_are_printed_in_the_order_they_came(bench: Bench, work: Work) -> None:
    for name, age_s in (("z.jdf", 30), ("a.jdf", 20), ("m.jdf", 10)):
        bench.deliver(Job(job_id=f"HL-{age_s}"), name=name)
        os.utime(bench.folder / "lanes/A/in" / name, (1_700_000_000 - age_s, 1_700_000_000 - age_s))
    work()
    assert [entry["job_id"] for entry in bench.log()] == ["HL-30"] * 2 + ["HL-20"] * 2 + ["HL-10"] * 2


def test_a_job_takes_the_time_of_its_steps(bench: Bench, work: Work) -> None:
    bench.deliver(Job(pieces=[Piece(0, 0, 1000, 300)], amount=1))
    work(clock_factor=1)
    [start, end] = [phase.get("Start") for phase in bench.returned()[0].iter(jdf("PhaseTime"))][1:]
    # (300 + 54) mm of web in steps of 54 / 6 mm, each (1000 + 4 x 400) / 1200 + 0.3 s
    assert seconds(start, end) == pytest.approx(40 * (2600 / 1200 + 0.3), abs=0.1)


def test_one_way_printing_travels_twice(bench: Bench, work: Work) -> None:
    bench.deliver(Job(pieces=[Piece(0, 0, 1000, 300)], amount=1, direction="OneWay"))
    work(clock_factor=1)
    [start, end] = [phase.get("Start") for phase in bench.returned()[0].iter(jdf("PhaseTime"))][1:]
    assert seconds(start, end) == pytest.approx(40 * (2 * 2600 / 1200 + 0.3), abs=0.1)


def test_a_factor_of_zero_waits_for_nothing(bench: Bench, work: Work, clock: TurnedClock) -> None:
    bench.deliver(Job(pieces=row(40), amount=40))
    before_s = clock.seconds
    work(clock_factor=0, until_idle_s=0)
    assert len(bench.log()) == 40
    assert clock.seconds - before_s < 0.2


def spans(bench: Bench) -> dict[str, tuple[str, str]]:
    """From the first to the last line in the log, per lane."""
    lanes: dict[str, list[str]] = {}
    for entry in bench.log():
        lanes.setdefault(entry["device_id"], []).append(entry["at"])
    return {lane: (min(times), max(times)) for lane, times in lanes.items()}


def test_lanes_with_the_same_mode_run_side_by_side(bench: Bench, work: Work) -> None:
    bench.deliver(Job(pieces=row(5)), lane="A")
    bench.deliver(Job(pieces=row(5), device_id="HL-P1-B"), lane="B")
    work()
    a, b = spans(bench)["HL-P1-A"], spans(bench)["HL-P1-B"]
    assert a == b


@pytest.mark.parametrize(
    "other", [{"passes": "8"}, {"direction": "OneWay"}, {"layer_stack": "White Color"}], ids=str
)
def test_a_lane_with_another_mode_waits_for_the_carriage(
    bench: Bench, work: Work, other: dict[str, str]
) -> None:
    bench.deliver(Job(pieces=row(5)), lane="A")
    bench.deliver(Job(pieces=row(5), device_id="HL-P1-B", **other), lane="B")
    work()
    assert spans(bench)["HL-P1-A"][1] < spans(bench)["HL-P1-B"][0]
    completed, setup = bench.phases("A")[-1], bench.phases("B")[0]
    assert completed.get("EndTime") <= setup.get("StartTime")


def test_nothing_younger_goes_before_a_lane_that_waits(bench: Bench, work: Work) -> None:
    bench.deliver(Job(pieces=row(3), job_id="last"), lane="A", name="3.jdf")
    bench.deliver(Job(pieces=row(3), job_id="waits", device_id="HL-P1-B", passes="8"), lane="B", name="2.jdf")
    bench.deliver(Job(pieces=row(3), job_id="first"), lane="A", name="1.jdf")
    for age_s, place in enumerate(("A/in/3.jdf", "B/in/2.jdf", "A/in/1.jdf")):
        os.utime(bench.folder / "lanes" / place, (1_700_000_000 - age_s, 1_700_000_000 - age_s))
    work()
    assert list(dict.fromkeys(entry["job_id"] for entry in bench.log())) == ["first", "waits", "last"]


def test_a_third_lane_does_not_slip_in_before_one_that_waits_for_the_carriage(
    bench: Bench, work: Work
) -> None:
    third = (
        PRESS_YAML[PRESS_YAML.rindex("  - ") :].replace("HL-P1-B", "HL-P1-C").replace("lanes/B", "lanes/C")
    )
    (bench.folder / "press.yaml").write_text(PRESS_YAML + third)
    (bench.folder / "lanes/C/in").mkdir(parents=True)
    for number, (lane, passes) in enumerate((("A", "6"), ("B", "8"), ("C", "6"))):
        bench.deliver(Job(pieces=row(3), device_id=f"HL-P1-{lane}", passes=passes), lane=lane)
        ticket_file = bench.folder / f"lanes/{lane}/in/ticket-{number + 1:03d}.jdf"
        os.utime(ticket_file, (1_700_000_000 + number, 1_700_000_000 + number))
    work()
    assert list(dict.fromkeys(entry["device_id"] for entry in bench.log())) == [
        "HL-P1-A",
        "HL-P1-B",
        "HL-P1-C",
    ]


def test_side_by_side_the_carriage_covers_both_lanes(bench: Bench, work: Work) -> None:
    bench.deliver(Job(pieces=[Piece(0, 0, 300, 300)], amount=1), lane="A")
    bench.deliver(Job(pieces=[Piece(0, 0, 300, 300)], amount=1, device_id="HL-P1-B"), lane="B")
    work(clock_factor=1)
    [start, end] = [phase.get("Start") for phase in bench.returned()[0].iter(jdf("PhaseTime"))][1:]
    # Lane B begins 1650 mm along the beam, so the images reach from 0 to 1950 mm.
    assert seconds(start, end) == pytest.approx(40 * ((1950 + 1600) / 1200 + 0.3), abs=0.2)


def test_a_full_beam_carriage_always_travels_the_beam(bench: Bench, work: Work) -> None:
    (bench.folder / "press.yaml").write_text(
        PRESS_YAML.replace("carriage_span: image", "carriage_span: beam")
    )
    bench.deliver(Job(pieces=[Piece(0, 0, 300, 300)], amount=1))
    work(clock_factor=1)
    [start, end] = [phase.get("Start") for phase in bench.returned()[0].iter(jdf("PhaseTime"))][1:]
    assert seconds(start, end) == pytest.approx(40 * ((3300 + 1600) / 1200 + 0.3), abs=0.1)


def seconds(start: str | None, end: str | None) -> float:
    assert start is not None
    assert end is not None
    return (datetime.fromisoformat(end) - datetime.fromisoformat(start)).total_seconds()


def test_the_lane_tells_setup_start_pieces_use_end_and_rest(bench: Bench, work: Work) -> None:
    bench.deliver(Job(pieces=row(3, height_mm=400), amount=3))
    work(clock_factor=30)
    assert values(bench.signals(), "Type") == ["Status"] * 5 + ["Resource", "Status", "Status"]
    assert values(bench.phases(), "Status") == ["Setup"] + ["InProgress"] * 4 + ["Completed"]
    assert values(bench.phases(), "Amount") == ["0", "0", "1", "2", "3", "3"]
    assert values(bench.phases(), "PercentCompleted") == ["0", "0", "33.3", "66.7", "100", "100"]
    assert set(values(bench.phases(), "TotalAmount")) == {"3"}
    devices = [next(s.iter(jdf("DeviceInfo"))) for s in bench.signals() if s.get("Type") == "Status"]
    assert values(devices, "DeviceStatus") == ["Setup"] + ["Running"] * 4 + ["Cleanup", "Idle"]


def test_five_hundred_pieces_do_not_flood_anybody(bench: Bench, work: Work, clock: TurnedClock) -> None:
    bench.deliver(Job(pieces=row(500, height_mm=30, gap_mm=0), amount=500))
    before_s = clock.seconds
    work(clock_factor=600)
    progress = [phase for phase in bench.phases() if phase.get("Status") == "InProgress"]
    assert progress[-1].get("Amount") == "500"
    assert 3 <= len(progress) <= (clock.seconds - before_s) / 2 + 3


def test_a_piece_counts_when_all_its_panels_are_printed(bench: Bench, work: Work) -> None:
    strips = [Piece(710 * tile, 910 * copy, 700, 900, tile=tile) for copy in range(2) for tile in range(2)]
    bench.deliver(Job(pieces=strips[:3], panel_widths_mm=[700, 700], amount=2))
    bench.deliver(Job(pieces=strips, panel_widths_mm=[700, 700], amount=2))
    work(clock_factor=60)
    ends = [phase.get("Amount") for phase in bench.phases() if phase.get("Status") == "Completed"]
    assert ends == ["1", "2"]
    assert [entry["tile"] for entry in bench.log()[:3]] == ["0 0", "1 0", "0 0"]


def test_every_answer_is_valid_by_the_official_schema(bench: Bench, work: Work, problems: Problems) -> None:
    ink = PRESS_YAML + "ink_ml_m2: {Cyan: 2, Black: 1.5, White: 6}\n"
    (bench.folder / "press.yaml").write_text(ink)
    strips = [Piece(710 * tile, 0, 700, 900, tile=tile) for tile in range(2)]
    bench.deliver(Job(pieces=row(4), layer_stack="White Color"), lane="A")
    bench.deliver(Job(pieces=strips, panel_widths_mm=[700, 700], device_id="HL-P1-B", amount=1), lane="B")
    bench.deliver(Job(device_id="HL-P9-Z"), lane="B")
    bench.deliver(b"<JDF", lane="B")
    work(clock_factor=20)
    answers = [*bench.files("status", "A"), *bench.files("status", "B")]
    answers += [*bench.files("returned", "A"), *bench.files("returned", "B")]
    assert len(answers) > 15
    assert {path.name: problems(path) for path in answers} == {path.name: [] for path in answers}


def test_what_was_used_is_told_by_lot_and_channel(bench: Bench, work: Work) -> None:
    (bench.folder / "press.yaml").write_text(PRESS_YAML + "ink_ml_m2: {Cyan: 2, White: 6, Clear: 9}\n")
    bench.deliver(Job(pieces=[Piece(0, 0, 1000, 2000)], amount=1, layer_stack="Color White Color"))
    work()
    [resource] = [signal for signal in bench.signals() if signal.get("Type") == "Resource"]
    amounts = {
        tuple(amount[0].attrib.values()): amount.get("ActualAmount")
        for amount in resource.iter(jdf("PartAmount"))
    }
    assert amounts == {
        ("L260114", "Good"): "3.2",  # 2 m of a 1.6 m roll
        ("L260114", "Waste"): "1.44",  # leader 0.5 m and trailer 0.4 m
        ("Cyan",): "0.008",  # 2 m2 x 2 ml x 2 layers
        ("White",): "0.012",  # 2 m2 x 6 ml x 1 layer
    }


def test_ink_that_the_ticket_expects_goes_before_the_average(bench: Bench, work: Work) -> None:
    (bench.folder / "press.yaml").write_text(PRESS_YAML + "ink_ml_m2: {Cyan: 2}\n")
    bench.deliver(Job(ink_l={"Cyan": 0.5, "Magenta": 0.25}))
    work()
    [link] = bench.returned()[0].iter(jdf("InkLink"))
    amounts = list(link.iter(jdf("PartAmount")))
    assert values(amounts, "Amount") == values(amounts, "ActualAmount") == ["0.5", "0.25"]


def test_the_returned_ticket_is_the_ticket_with_its_story(bench: Bench, work: Work) -> None:
    bench.deliver(Job())
    work()
    [root] = bench.returned()
    assert root.get("Status") == "Completed"
    assert root.find(f".//{jdf('NodeInfo')}").get("NodeStatus") == "Completed"
    assert root.find(f".//{jdf('Component')}[@ID='c1']").get("Status") == "Available"
    audits = [element.tag.split("}")[1] for element in root.find(jdf("AuditPool"))]
    assert audits == ["Created"] + ["PhaseTime"] * 3 + ["ResourceAudit", "Modified", "ProcessRun"]
    phases = list(root.iter(jdf("PhaseTime")))
    assert values(phases, "Status") == ["Setup", "InProgress", "Cleanup"]
    assert values(phases, "End")[:-1] == values(phases, "Start")[1:]
    run = root.find(f".//{jdf('ProcessRun')}")
    assert (run.get("Start"), run.get("End")) == (phases[0].get("Start"), phases[-1].get("End"))
    assert run.get("EndStatus") == "Completed"
    assert run.get("Duration") == f"PT{seconds(run.get('Start'), run.get('End')):g}S"
    assert root.find(f".//{jdf('Employee')}").get("PersonalID") == "op-07"
    assert root.find(f".//{jdf('EmployeeLink')}").get("rRef") == root.find(f".//{jdf('Employee')}").get("ID")


def test_the_returned_ticket_has_plan_and_outcome_side_by_side(bench: Bench, work: Work) -> None:
    bench.deliver(Job(amount=2))
    work()
    [root] = bench.returned()
    links = root.find(jdf("ResourceLinkPool"))
    [pieces] = links.find(jdf("ComponentLink")).iter(jdf("PartAmount"))
    assert (pieces.get("Amount"), pieces.get("ActualAmount"), pieces[0].get("Condition")) == (
        "2",
        "2",
        "Good",
    )
    good, waste = links.find(jdf("MediaLink")).iter(jdf("PartAmount"))
    assert (good.get("Amount"), good.get("ActualAmount")) == ("2.5", "0.976")  # 0.61 m of a 1.6 m roll
    assert (waste.get("ActualAmount"), waste[0].get("LotID")) == ("1.44", "L260114")
    assert links.find(jdf("MediaLink")).get("Amount") is None


def test_foreign_data_comments_and_ids_come_back_as_they_were(bench: Bench, work: Work) -> None:
    bench.deliver(Job())
    work()
    [root] = bench.returned()
    assert root.get(f"{{{FOREIGN}}}colour") == "harbour blue"
    assert root[0].text == " for the night shift "
    kept = {"n1", "a1", "ni", "dev", "rl", "ip", "dp", "m1", "ly", "c1"}
    assert kept <= {element.get("ID") for element in root.iter("*")}


def test_a_ticket_that_already_has_the_audits_of_a_run_gets_new_ids(
    bench: Bench, work: Work, problems: Problems
) -> None:
    bench.deliver(Job())
    work()
    [first] = bench.files("returned")
    bench.deliver(first.read_bytes())
    work()
    second = bench.files("returned")[1]
    assert problems(second) == []
    assert len(list(bench.returned()[1].iter(jdf("ProcessRun")))) == 2


def test_serials_go_on_after_a_restart(bench: Bench, work: Work) -> None:
    for _ in range(3):
        bench.deliver(Job(pieces=row(1)))
        work()
    serials = [entry["serial"] for entry in bench.log()]
    assert serials == ["HL-P1-00000001", "HL-P1-00000002", "HL-P1-00000003"]

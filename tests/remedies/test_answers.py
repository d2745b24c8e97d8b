"""What is answered to commands and control tickets, and what a press says; then as the remedy wants it."""

import json
import shutil
import threading
import time
from collections.abc import Iterator
from dataclasses import replace

import pytest

from tests.remedies.changes import BANNER
from tests.remedies.provokes import provokes
from tests.remedies.scene import Scene
from tests.unit.flow.bench import press_returns, status_jmf
from ticketbridge.model import share
from ticketbridge.model.share import REQUESTS, Share, lease_name
from ticketbridge.spool import gates
from ticketbridge.spool.gate import ShareHangs
from ticketbridge.vocabulary.names import MARKER_NAME

Steps = Iterator[None]
JOB = (BANNER.job_id, "1.Q000001")
LANE = "HL-P1-A"


def _three_orders(scene: Scene) -> None:
    """Two are at the presses; Q000003 waits behind them, as a lane is given one ticket at a time."""
    for number in "123":
        assert scene.order(replace(BANNER, job_id=f"HL-{number}", file_name=f"{number}.jdf")) == "accepted"
    assert [job.given for job in scene.jobs()] == [True, True, False]
    scene.heard.clear()


# Control tickets


def _jmf(scene: Scene, kind: str, inside: str = "", name: str = "ask.jmf") -> str:
    return scene.drop(
        name,
        '<JMF xmlns="http://www.CIP4.org/JDFSchema_1_1" SenderID="mis" TimeStamp="2026-03-09T12:00:00Z" Version="1.5">'
        f'<Command ID="c1" Type="{kind}">{inside}</Command></JMF>',
    )


THE_JOB = '<QueueEntryDef QueueEntryID="Q000003"/>'


@provokes("command.no-jmf", "Give a ticket the ending .jdf")
def test_a_ticket_that_ends_like_a_message(scene: Scene) -> Steps:
    name = scene.bench.drop(BANNER)
    shutil.move(scene.drop_folder() / name, scene.drop_folder() / "banner.jmf")
    scene.take("banner.jmf")
    yield
    scene.order()


@provokes("command.not-done", "By folder, commands to queue entries are")
def test_a_message_that_is_not_done_by_folder(scene: Scene) -> Steps:
    _three_orders(scene)
    _jmf(scene, "ResubmitQueueEntry", THE_JOB)
    yield
    _jmf(scene, "HoldQueueEntry", THE_JOB)


@provokes("command.names-nothing", "Name it by QueueEntryDef")
def test_a_message_about_no_job(scene: Scene) -> Steps:
    _three_orders(scene)
    _jmf(scene, "HoldQueueEntry")
    yield
    _jmf(scene, "HoldQueueEntry", THE_JOB)


@provokes("command.no-priority", "Give it QueueEntryPriParams with Priority")
def test_a_priority_that_is_not_said(scene: Scene) -> Steps:
    _three_orders(scene)
    _jmf(scene, "SetQueueEntryPriority", THE_JOB)
    yield
    _jmf(scene, "SetQueueEntryPriority", '<QueueEntryPriParams QueueEntryID="Q000003" Priority="80"/>')


@provokes("command.filter-not-read", "Name the jobs by QueueEntryDef")
def test_a_choice_of_jobs_by_their_gang(scene: Scene) -> Steps:
    _three_orders(scene)
    params = (
        f'<HoldQueueEntryParams><QueueFilter GangNames="A">{THE_JOB}</QueueFilter></HoldQueueEntryParams>'
    )
    _jmf(scene, "HoldQueueEntry", params)
    yield
    _jmf(scene, "HoldQueueEntry", THE_JOB)


@provokes("command.no-position", "Give it QueueEntryPosParams with Position")
def test_a_place_that_is_not_said(scene: Scene) -> Steps:
    _three_orders(scene)
    _jmf(scene, "SetQueueEntryPosition", '<QueueEntryPosParams QueueEntryID="Q000003"/>')
    yield
    _jmf(scene, "SetQueueEntryPosition", '<QueueEntryPosParams QueueEntryID="Q000003" Position="0"/>')


@provokes("command.no-neighbour", "Ask QueueStatus for what waits there")
def test_a_place_beside_one_that_does_not_wait(scene: Scene) -> Steps:
    _three_orders(scene)
    before = '<QueueEntryPosParams QueueEntryID="Q000003" NextQueueEntryID="{}"/>'
    _jmf(scene, "SetQueueEntryPosition", before.format("Q000001"))
    yield
    for number in "45":
        scene.order(replace(BANNER, job_id=f"HL-{number}", file_name=f"{number}.jdf"))
    third, *later = [job for job in scene.jobs() if not job.given]
    neighbour = next(job.queue_entry_id for job in later if job.device_id == third.device_id)
    _jmf(scene, "SetQueueEntryPosition", before.format(neighbour))


@provokes("command.never-ran", "Abort it with EndStatus Aborted")
def test_a_job_that_never_ran_cannot_be_completed(scene: Scene) -> Steps:
    _three_orders(scene)
    _jmf(scene, "AbortQueueEntry", '<AbortQueueEntryParams QueueEntryID="Q000003" EndStatus="Completed"/>')
    yield
    _jmf(scene, "AbortQueueEntry", '<AbortQueueEntryParams QueueEntryID="Q000003" EndStatus="Aborted"/>')


@provokes("request.already-so")
def test_a_job_that_is_held_is_held_again(scene: Scene) -> Steps:
    _three_orders(scene)
    _jmf(scene, "HoldQueueEntry", THE_JOB)
    _jmf(scene, "HoldQueueEntry", THE_JOB, "again.jmf")
    yield


@provokes("request.not-running", "Hold it, if it is to wait")
def test_a_job_that_does_not_run_is_suspended(scene: Scene) -> Steps:
    _three_orders(scene)
    _jmf(scene, "SuspendQueueEntry", THE_JOB)
    yield
    _jmf(scene, "HoldQueueEntry", THE_JOB)


@provokes("request.runs", "or wait until it has ended")
def test_a_job_that_runs_is_removed(scene: Scene) -> Steps:
    scene.order()
    scene.press_says(LANE, JOB, "InProgress", 1, 3)
    removal = '<QueueEntryDef QueueEntryID="Q000001"/>'
    _jmf(scene, "RemoveQueueEntry", removal)
    yield
    scene.print_all()
    _jmf(scene, "RemoveQueueEntry", removal)


# Messages that were given up


@provokes("message.none-waits", "`ticketbridge jmf log` lists the channels")
def test_nothing_to_skip(scene: Scene) -> Steps:
    scene.command("jmf skip mis.folder")
    yield
    scene.order()
    assert "mis.folder" in scene.follow("`ticketbridge jmf log`")
    scene.command("jmf skip mis.folder")


@provokes("message.skipped", "`ticketbridge jmf resend mis.folder 1` sends it again")
def test_a_message_is_skipped(scene: Scene) -> Steps:
    scene.order()
    scene.command("jmf skip mis.folder")
    yield
    scene.follow("`ticketbridge jmf resend mis.folder 1`")


@provokes("message.sent-again", "`ticketbridge jmf log` shows when it has arrived")
def test_a_dead_letter_is_sent_again(scene: Scene) -> Steps:
    scene.order()
    scene.command("jmf skip mis.folder")
    scene.command("jmf resend mis.folder 1")
    yield
    assert "mis.folder" in scene.follow("`ticketbridge jmf log`")


@provokes("message.no-dead-letter", "`ticketbridge jmf log` lists the dead letters")
def test_a_dead_letter_that_there_is_not(scene: Scene) -> Steps:
    scene.order()
    scene.command("jmf resend mis.folder 9")
    yield
    scene.command("jmf skip mis.folder")
    assert "Dead letters" in scene.follow("`ticketbridge jmf log`")
    scene.command("jmf resend mis.folder 1")


@provokes("message.asked-before")
def test_the_same_request_about_a_message_after_a_crash(scene: Scene) -> Steps:
    scene.order()
    request = json.dumps({"wish": "message-skip", "who": "op-03", "args": {"channel": "mis.folder"}})
    scene.request("1.json", request)
    scene.request("1.json", request)
    yield


# Requests about jobs


@provokes("request.done")
def test_a_job_is_held(scene: Scene) -> Steps:
    _three_orders(scene)
    scene.command("jobs hold Q000003")
    yield


@provokes("request.unknown-job", "`ticketbridge jobs` lists them")
def test_a_job_that_there_is_not(scene: Scene) -> Steps:
    _three_orders(scene)
    scene.command("jobs hold Q000009")
    yield
    listed = scene.command("jobs").splitlines()[-1]
    scene.command(f"jobs hold {listed.split()[0]}")


@provokes("request.at-press", "Do it at the press")
def test_a_job_that_the_press_has(scene: Scene) -> Steps:
    _three_orders(scene)
    scene.command("jobs cancel Q000001")
    yield
    [ticket] = scene.bench.lane(LANE).tickets.glob("*.jdf")
    scene.press_writes(LANE, ticket.name, press_returns(ticket.read_bytes(), "Aborted"))
    assert "Aborted" in scene.command("jobs show Q000001")


@provokes("request.not-now", "`ticketbridge jobs show Q000003` shows what happened to it")
def test_a_job_that_is_not_held_is_resumed(scene: Scene) -> Steps:
    _three_orders(scene)
    scene.command("jobs resume Q000003")
    yield
    assert "Waiting" in scene.follow("`ticketbridge jobs show Q000003`")


@provokes("request.not-in-doubt", "`ticketbridge jobs show Q000003` shows what happened to it")
def test_no_doubt_about_where_a_ticket_is(scene: Scene) -> Steps:
    _three_orders(scene)
    scene.command("jobs delivered Q000003")
    yield
    assert "Waiting" in scene.follow("`ticketbridge jobs show Q000003`")


@provokes("job.at-press", "under a JobID of its own")
def test_a_change_of_what_the_press_has(scene: Scene) -> Steps:
    scene.order()
    scene.order(replace(BANNER, quantity=9))
    yield
    scene.order(replace(BANNER, quantity=9, job_id="HL-24117-2"))


# Artwork between acceptance and hand-over


# Refused tickets, tried again


def _refuse_unknown_film(scene: Scene) -> None:
    scene.order(replace(BANNER, stock_brand="Moonbeam Film 9"))
    scene.heard.clear()


@provokes("request.nothing-refused", "tickets that were tried again are not there any more")
def test_nothing_to_try_again(scene: Scene) -> Steps:
    _refuse_unknown_film(scene)
    scene.command("jobs retry banner.jdf")
    yield
    assert [path.name for path in scene.bench.source.refused.glob(f"*{BANNER.file_name}")]
    scene.edit_beside("mappings/mis.yaml", "Harbour Banner 510", "Moonbeam Film 9")
    scene.command(f"jobs retry {BANNER.file_name}")


@provokes("request.tried-again", "lies in refused with its new findings beside it")
def test_a_ticket_is_tried_again(scene: Scene) -> Steps:
    _refuse_unknown_film(scene)
    scene.command("jobs retry")
    yield
    [note] = scene.bench.source.refused.glob(f"*{BANNER.file_name}.findings.txt")
    assert "mapping.substrate-unknown" in note.read_text()
    scene.well = True


ONLY_ANSWERS = Share(frozenset({REQUESTS}))
"""Of several bridges the one that answers; another serves the hot folders."""


@provokes("request.dropped-again", "restart it after a change")
def test_a_refused_ticket_of_a_folder_that_another_bridge_serves(scene: Scene) -> Steps:
    _refuse_unknown_film(scene)
    scene.bridge.share = ONLY_ANSWERS
    scene.command("jobs retry")
    yield
    scene.edit_beside("mappings/mis.yaml", "Harbour Banner 510", "Moonbeam Film 9")
    scene.stop()
    scene.take(BANNER.file_name)


@provokes("request.drop-taken", "has taken that one, then ask again")
def test_a_newer_ticket_lies_where_the_refused_one_would_be_put_back(scene: Scene) -> Steps:
    _refuse_unknown_film(scene)
    scene.bench.drop(BANNER)
    scene.bridge.share = ONLY_ANSWERS
    scene.command("jobs retry")
    yield
    scene.bridge.share = Share()
    scene.take(BANNER.file_name)
    scene.bridge.share = ONLY_ANSWERS
    scene.command("jobs retry")


@provokes("request.shop-faulty", "`ticketbridge check` shows all of them")
def test_a_shop_with_faults_tries_nothing(scene: Scene) -> Steps:
    _refuse_unknown_film(scene)
    scene.edit_beside("presses.yaml", "ramp_mm: 200", "rmap_mm: 200")
    scene.command("jobs retry")
    yield
    assert 'Did you mean "ramp_mm"?' in scene.follow("`ticketbridge check`")
    scene.edit_beside("presses.yaml", "rmap_mm: 200", "ramp_mm: 200")
    scene.command("jobs retry")


@provokes("request.restart-needed", "Restart the bridge, then ask again")
def test_a_shop_with_other_folders_needs_a_restart(scene: Scene) -> Steps:
    _refuse_unknown_film(scene)
    shutil.copytree(scene.folder / "lanes/HL-P2-W", scene.folder / "lanes/wide")
    scene.edit_beside("presses.yaml", "folder: lanes/HL-P2-W", "folder: lanes/wide")
    scene.command("jobs retry")
    yield
    scene.stop()
    scene.command("jobs retry")


@provokes("request.unreadable", "Ask with the same version of ticketbridge")
def test_a_request_of_another_program(scene: Scene) -> Steps:
    _three_orders(scene)
    scene.request("1.json", json.dumps({"wish": "fly"}))
    yield
    scene.command("jobs hold Q000003")


# What a press says, and its folders


@provokes("lane.not-ready", "the bridge goes on by itself")
def test_a_lane_whose_share_is_not_mounted(scene: Scene) -> Steps:
    marker = scene.bench.lane(LANE).tickets / MARKER_NAME
    marker.unlink()
    scene.order()
    yield
    marker.touch()
    scene.turn()
    assert list(scene.bench.lane(LANE).tickets.glob("*.jdf"))


@pytest.fixture
def server(scene: Scene) -> Iterator[threading.Event]:
    """The file server of a lane's share; set while it answers."""
    gates.forget_all()
    gates.guard(lease_name(share.LANE, LANE), [scene.bench.lane(LANE).folder], 0.2)
    answers = threading.Event()
    yield answers
    answers.set()
    gates.forget_all()


@provokes("share.hangs", "The bridge goes on by itself as soon as the share")
def test_a_lane_whose_file_server_stops_answering(scene: Scene, server: threading.Event) -> Steps:
    tickets = scene.bench.lane(LANE).tickets
    with pytest.raises(ShareHangs):
        gates.ask(tickets, server.wait)
    scene.turn()
    scene.order()
    assert not list(tickets.glob("*.jdf"))
    yield
    server.set()
    while gates.hanging():
        time.sleep(0.01)
    scene.turn()
    assert list(tickets.glob("*.jdf"))


@provokes("press.unknown-job", "Look at the press")
def test_a_press_speaks_of_a_job_that_it_was_not_given(scene: Scene) -> Steps:
    scene.order()
    scene.press_says(LANE, ("HL-9", "1.Q000009"), "InProgress", 1, 3)
    yield
    scene.press_says(LANE, JOB, "InProgress", 1, 3)


@provokes("press.contradiction", "Look at the press and at the job's history")
def test_a_press_stops_what_it_has_not_begun(scene: Scene) -> Steps:
    scene.order()
    scene.press_says(LANE, JOB, "Stopped", 1, 3)
    yield
    assert "press.contradiction" in scene.command("jobs show Q000001")
    scene.press_says(LANE, JOB, "InProgress", 1, 3)


@provokes("press.amount-shrank", "the higher number is kept")
def test_a_press_counts_backwards(scene: Scene) -> Steps:
    scene.order()
    scene.press_says(LANE, JOB, "InProgress", 2, 3)
    scene.press_says(LANE, JOB, "InProgress", 1, 3)
    yield
    assert "2/3" in scene.command("jobs")
    scene.press_says(LANE, JOB, "InProgress", 3, 3)


@provokes("press.unreadable", "The file is kept in the lane's folder followed")
def test_a_press_writes_something_unreadable(scene: Scene) -> Steps:
    scene.order()
    data = status_jmf(LANE, JOB, "InProgress", 1, 3, "m1")
    scene.press_writes(LANE, "m1.jmf", data[:100])
    yield
    assert (scene.bench.lane(LANE).followed / "m1.jmf").read_bytes() == data[:100]
    scene.press_writes(LANE, "m1.jmf", data)


# Artwork of a job that waits for its lane


def _turn_comes(scene: Scene) -> None:
    scene.print_all()
    scene.turn()
    scene.hear_history("Q000003")


def _resumed(scene: Scene) -> None:
    scene.command("jobs resume Q000003")
    scene.turn()
    assert {job.queue_entry_id: job.given for job in scene.jobs()}["Q000003"]


@provokes("artwork.gone", "Put the same file back and resume the job")
def test_artwork_that_was_taken_away_before_its_turn(scene: Scene) -> Steps:
    _three_orders(scene)
    art = scene.drop_folder() / "art/HL-3.pdf"
    data = art.read_bytes()
    art.unlink()
    _turn_comes(scene)
    yield
    art.write_bytes(data)
    _resumed(scene)


@provokes("artwork.changed", "Put the accepted file back and resume the job")
def test_artwork_that_was_changed_before_its_turn(scene: Scene) -> Steps:
    _three_orders(scene)
    art = scene.drop_folder() / "art/HL-3.pdf"
    data = art.read_bytes()
    art.write_bytes(data + b"%changed")
    _turn_comes(scene)
    yield
    art.write_bytes(data)
    _resumed(scene)


# Rolls


def _rolls(scene: Scene, *commands: str) -> None:
    """Commands that set the scene, unheard."""
    for words in commands:
        scene.command(f"rolls {words}")
        assert scene.well, words
    scene.heard.clear()


@provokes("rolls.received", "Put its label on")
def test_a_roll_is_booked_in(scene: Scene) -> Steps:
    scene.command("rolls receive BAN510 N-1 1600 50")
    yield
    assert "<svg" in scene.follow("`ticketbridge rolls label N-1`")


@provokes("rolls.loaded")
def test_a_roll_is_put_on(scene: Scene) -> Steps:
    _rolls(scene, f"unload --lane {LANE}")
    scene.command(f"rolls load B510-2208 --lane {LANE}")
    yield


@provokes("rolls.unloaded")
def test_a_roll_is_taken_off(scene: Scene) -> Steps:
    scene.command(f"rolls unload --lane {LANE}")
    yield


@provokes("rolls.measured")
def test_a_roll_is_measured_and_agrees(scene: Scene) -> Steps:
    scene.command("rolls measure B510-2207 --diameter-mm 199.8")
    yield


@provokes("rolls.account-taken")
def test_the_measured_length_is_taken(scene: Scene) -> Steps:
    scene.command("rolls measure B510-2207 --diameter-mm 150 --take-measured")
    yield


@provokes("rolls.flaw-noted")
def test_a_splice_is_noted(scene: Scene) -> Steps:
    scene.command("rolls splice B510-2207 --at-m 12.5")
    yield


@provokes("rolls.asked-before")
def test_the_same_request_after_a_crash(scene: Scene) -> Steps:
    request = json.dumps({"wish": "roll-unload", "who": "op-03", "args": {"lane": LANE}})
    scene.request("1.json", request)
    scene.request("1.json", request)
    yield


@provokes("rolls.account-differs", "`ticketbridge rolls measure B510-2207 --diameter-mm 150 --take-measured`")
def test_a_roll_is_measured_and_differs(scene: Scene) -> Steps:
    scene.command("rolls measure B510-2207 --diameter-mm 150")
    yield
    scene.follow("`ticketbridge rolls measure B510-2207 --diameter-mm 150 --take-measured`")


@provokes("rolls.width-unusual", "add it to widths_mm in substrates.yaml")
def test_a_roll_of_an_unusual_width(scene: Scene) -> Steps:
    scene.command("rolls receive BAN510 N-1 1500 50")
    yield
    scene.edit("substrates.yaml", "widths_mm: [1600, 3200]", "widths_mm: [1500, 1600, 3200]")
    scene.command("rolls receive BAN510 N-2 1500 50")


@provokes("rolls.substrate-unknown", "add the substrate there and restart the bridge")
def test_a_roll_of_a_substrate_that_is_not_in_the_catalogue(scene: Scene) -> Steps:
    scene.command("rolls receive SAIL N-1 1600 50")
    yield
    scene.edit("substrates.yaml", "  - id: BAN510", f"{SAIL}\n  - id: BAN510")
    scene.command("rolls receive SAIL N-1 1600 50")


SAIL = """\
  - id: SAIL
    name: Sailcloth
    family: textile
    thickness_um: 200
    weight_g_m2: 180
    widths_mm: [1600]
    print_modes: [banner-6]
"""


@provokes("rolls.lane-unknown", "Name the lane by its device_id")
def test_a_lane_that_there_is_not(scene: Scene) -> Steps:
    scene.command("rolls unload --lane A")
    yield
    scene.command(f"rolls unload --lane {LANE}")


@provokes("rolls.unknown", "`ticketbridge rolls` lists them")
def test_a_lot_that_there_is_not(scene: Scene) -> Steps:
    scene.command("rolls measure B510-220 --diameter-mm 199.8")
    yield
    [lot] = {word for word in scene.follow("`ticketbridge rolls`").split() if word == "B510-2207"}
    scene.command(f"rolls measure {lot} --diameter-mm 199.8")


@provokes("rolls.which", "Say which, with --number")
def test_a_lot_of_several_rolls(scene: Scene) -> Steps:
    _rolls(scene, "receive BAN510 B510-2207 1600 50", f"unload --lane {LANE}")
    scene.command(f"rolls load B510-2207 --lane {LANE}")
    yield
    scene.command(f"rolls load B510-2207 --lane {LANE} --number 2")


@provokes("rolls.gone", "receive it anew with the length that is left")
def test_a_roll_that_is_gone(scene: Scene) -> Steps:
    _rolls(scene, f"unload --lane {LANE} --gone")
    scene.command(f"rolls load B510-2207 --lane {LANE}")
    yield
    scene.command("rolls receive BAN510 B510-2207 1600 12")
    scene.command(f"rolls load B510-2207 --lane {LANE}")


@provokes("rolls.lane-taken", f"`ticketbridge rolls change B510-2208 --lane {LANE}`")
def test_a_lane_that_has_a_roll(scene: Scene) -> Steps:
    scene.command(f"rolls load B510-2208 --lane {LANE}")
    yield
    scene.follow(f"`ticketbridge rolls change B510-2208 --lane {LANE}`")


@provokes("rolls.lane-empty", f"`ticketbridge rolls load LOT --lane {LANE}`")
def test_a_lane_that_has_no_roll(scene: Scene) -> Steps:
    _rolls(scene, f"unload --lane {LANE}")
    scene.command(f"rolls unload --lane {LANE}")
    yield
    scene.follow(f"`ticketbridge rolls load LOT --lane {LANE}`", LOT="B510-2208")


@provokes("rolls.elsewhere", "`ticketbridge rolls unload --lane HL-P1-A`")
def test_a_roll_that_is_on_another_lane(scene: Scene) -> Steps:
    _rolls(scene, "unload --lane HL-P1-B")
    scene.command("rolls load B510-2207 --lane HL-P1-B")
    yield
    scene.follow("`ticketbridge rolls unload --lane HL-P1-A`")
    scene.command("rolls load B510-2207 --lane HL-P1-B")


@provokes("rolls.too-wide", "Load it on a wider lane")
def test_a_roll_wider_than_the_lane(scene: Scene) -> Steps:
    _rolls(scene, f"unload --lane {LANE}", "unload --lane HL-P2-W")
    scene.command(f"rolls load B510-2212 --lane {LANE}")
    yield
    scene.command("rolls load B510-2212 --lane HL-P2-W")


@provokes("rolls.diameter-below-core", "`ticketbridge rolls unload --lane LANE --gone`")
def test_a_diameter_of_an_empty_core(scene: Scene) -> Steps:
    scene.command("rolls measure B510-2207 --diameter-mm 90")
    yield
    scene.follow("`ticketbridge rolls unload --lane LANE --gone`", LANE=LANE)


@provokes("rolls.flaw-beyond", "from the outer end of the roll as it is now")
def test_a_splice_beyond_the_roll(scene: Scene) -> Steps:
    scene.command("rolls splice B510-2207 --at-m 60")
    yield
    scene.command("rolls splice B510-2207 --at-m 40")


@provokes("rolls.value-unfit", "Give a finite number above 0")
def test_a_length_below_nothing(scene: Scene) -> Steps:
    scene.command("rolls receive BAN510 N-1 1600 nan")
    yield
    scene.command("rolls receive BAN510 N-1 1600 50")


@provokes("lanes.roll-heavy", "with enough trained people")
def test_a_roll_that_is_too_heavy_for_one(scene: Scene) -> Steps:
    _rolls(scene, "unload --lane HL-P2-W")
    scene.command("rolls load B510-2212 --lane HL-P2-W")
    yield
    scene.edit(
        "shop.yaml", "lifting_limit_kg: 25", "lifting_limit_kg: 100"
    )  # what a lifter and two people may
    scene.command("rolls unload --lane HL-P2-W")

"""What a press says has an order, and a lane's thread keeps it: whatever the moment that it looks, and whatever fails."""

import os
import time
from collections.abc import Iterator
from pathlib import Path
from queue import Queue

import pytest

from ticketbridge.daemon import lane_loop
from ticketbridge.daemon.heartbeats import Heartbeats
from ticketbridge.daemon.lane_loop import LaneLoop
from ticketbridge.daemon.logs import Notices
from ticketbridge.flow.press.following import PressFile
from ticketbridge.flow.press.press_answers import Handed
from ticketbridge.spool.places import LanePlaces
from ticketbridge.vocabulary.names import MARKER_NAME


class Lane:
    """A lane that is listened to, and what the flow gets of it."""

    def __init__(self, folder: Path) -> None:
        self.places = LanePlaces(folder)
        self.signal, self.ticket = self.places.status / "P1-000007.jmf", self.places.returned / "P1.jdf"
        for place in (self.places.status, self.places.returned):
            place.mkdir(parents=True)
            (place / MARKER_NAME).touch()
        self._inbox = Queue[Handed | PressFile]()
        self.listener = LaneLoop(
            "HL-P1-A", self.places, self._inbox, lambda: None, Notices(), Heartbeats(time.monotonic)
        )

    def finish(self) -> None:
        """The press is done: it says so, then it returns the ticket."""
        self.signal.write_text("<JMF/>")
        self.ticket.write_text("<JDF/>")

    def next(self, *, well: bool = True) -> str:
        """The name of the next file that is handed to the flow, which can follow it or not."""
        file = self._inbox.get(timeout=30)
        assert isinstance(file, PressFile)
        if well:
            file.path.unlink()
        file.done(well)
        return file.path.name


@pytest.fixture
def lane(tmp_path: Path) -> Iterator[Lane]:
    lane = Lane(tmp_path)
    yield lane
    lane.listener.stop()
    lane.listener.join(30)


@pytest.mark.parametrize("looks_before", [1, 2], ids=["between the two looks", "after both"])
def test_the_last_signal_is_followed_before_the_ticket_that_came_while_the_folders_were_looked_at(
    lane: Lane, monkeypatch: pytest.MonkeyPatch, looks_before: int
) -> None:
    looks: list[Path] = []
    real = os.listdir

    def listdir(folder: Path) -> list[str]:
        names = real(folder)
        looks.append(folder)
        if len(looks) == looks_before:
            lane.finish()
        return names

    monkeypatch.setattr(os, "listdir", listdir)
    lane.listener.start()

    assert [lane.next(), lane.next()] == ["P1-000007.jmf", "P1.jdf"]


def test_a_signal_that_could_not_be_followed_is_handed_on_again_before_the_ticket(lane: Lane) -> None:
    lane.finish()
    lane.listener.start()

    assert [lane.next(well=False), lane.next(), lane.next()] == ["P1-000007.jmf", "P1-000007.jmf", "P1.jdf"]


def test_a_ticket_waits_for_a_signal_that_is_still_being_written(lane: Lane) -> None:
    lane.finish()
    lane.signal.write_text("<JMF>")
    lane.listener.start()
    time.sleep(3 * lane_loop.LOOK_S)
    lane.signal.write_text("<JMF/>")

    assert [lane.next(), lane.next()] == ["P1-000007.jmf", "P1.jdf"]


def test_a_signal_that_is_never_finished_holds_up_its_lane_for_a_while_only(
    lane: Lane, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(lane_loop, "WRITING_S", 0.3)
    lane.finish()
    lane.signal.write_text("<JMF>")
    lane.listener.start()

    assert lane.next() == "P1.jdf"

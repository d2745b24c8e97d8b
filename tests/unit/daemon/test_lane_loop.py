"""A lane is looked at while its press writes."""

import os
import time
from pathlib import Path
from queue import Queue

import pytest

from ticketbridge.daemon.heartbeats import Heartbeats
from ticketbridge.daemon.lane_loop import LaneLoop
from ticketbridge.daemon.logs import Notices
from ticketbridge.flow.press.following import PressFile
from ticketbridge.flow.press.press_answers import Handed
from ticketbridge.spool.places import LanePlaces
from ticketbridge.vocabulary.names import MARKER_NAME


@pytest.mark.parametrize("looks_before", [1, 2], ids=["between the two looks", "after both"])
def test_the_last_signal_is_followed_before_the_ticket_it_speaks_of(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, looks_before: int
) -> None:
    places, inbox = LanePlaces(tmp_path), Queue[Handed | PressFile]()
    for folder in (places.status, places.returned):
        folder.mkdir(parents=True)
        (folder / MARKER_NAME).touch()
    listed: list[str] = []
    real = os.listdir

    def listdir(folder: Path) -> list[str]:
        names = real(folder)
        listed.append(str(folder))
        if len(listed) == looks_before:  # the press is done just now
            (places.status / "P1-000007.jmf").write_text("<JMF/>")
            (places.returned / "P1.jdf").write_text("<JDF/>")
        return names

    monkeypatch.setattr(os, "listdir", listdir)
    lane = LaneLoop("HL-P1-A", places, inbox, lambda: None, Notices(), Heartbeats(time.monotonic))
    followed = []
    lane.start()
    for _ in range(2):
        file = inbox.get(timeout=30)
        assert isinstance(file, PressFile)
        followed.append(file.path.name)
        file.path.unlink()
        file.done()
    lane.stop()
    lane.join(30)

    assert followed == ["P1-000007.jmf", "P1.jdf"]

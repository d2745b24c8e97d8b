"""A shop's day in any order of events, with crashes at any step between them: nothing lost, nothing twice.

The bridge runs in this process, as for the test of a crash at every step; a crash is followed by a start, as always.
"""

import os
import re
import tempfile
from collections import Counter
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import Bundle, RuleBasedStateMachine, consumes, initialize, invariant, rule

from tests.unit.flow.bench import Bench, press_returns, status_jmf
from tests.unit.flow.test_crash_at_every_step import Crash, Fuse, lay
from ticketbridge.demo.orders import ORDERS, DemoOrder, artwork, ticket
from ticketbridge.flow.asked.requests import answer
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.flow.lane.releasing import release_waiting
from ticketbridge.flow.press.following import PressFile, follow
from ticketbridge.model.job_states import FINAL
from ticketbridge.model.request import Request, Wish

ORDERED = ORDERS[:4]
"""Those that a lane of the sample shop prints."""
WISHES = (Wish.HOLD, Wish.RESUME, Wish.CANCEL)
PLACES = ("drop", "claimed", "waiting", "accepted", "repeated", "refused")
LANES = ("HL-P1-A", "HL-P1-B", "HL-P2-W")
STEPS_TO_CRASH = st.one_of(st.none(), st.none(), st.integers(0, 14))
HELD = re.compile(r"\.ticketbridge-(Q\d+)(?:\.[^.]+)?\.tmp")


class Day(RuleBasedStateMachine):
    """What people, the MIS and the presses do, in any order."""

    taken = Bundle("taken")
    """Queue entries whose ticket a press has taken."""

    @initialize()
    def open_the_shop(self) -> None:
        self._home = tempfile.TemporaryDirectory(prefix="ticketbridge-day-")
        self.bench = Bench(Path(self._home.name) / "shop")
        presses = self.bench.folder / "presses.yaml"
        presses.write_text(
            presses.read_text().replace("ahead: 1", "ahead: 0")
        )  # no job waits for another to end
        for order in ORDERED:
            (self.bench.source.drop / "art" / f"{order.job_id}.pdf").write_bytes(artwork(order))
        self.bridge = self.bench.restart()
        self.dropped: list[str] = []
        self.at_press: dict[str, tuple[str, bytes]] = {}
        self.said = 0

    def teardown(self) -> None:
        if hasattr(self, "bridge"):
            self.bridge.store.close()
            self._home.cleanup()

    @rule(order=st.sampled_from(ORDERED), number=st.integers(1, 5), pieces=st.integers(1, 2))
    def drop(self, order: DemoOrder, number: int, pieces: int) -> None:
        """A new order, one that is known, or another version of it."""
        name = f"{len(self.dropped):03d}.jdf"
        data = re.sub(rb'(Usage="Output"[^>]*Amount=")\d+', rb"\g<1>%d" % pieces, ticket(order))
        data = data.replace(b'JobID="', b'JobID="%d-' % number, 1)
        (self.bench.source.drop / name).write_bytes(data)
        self.dropped.append(name)

    @rule(order=st.sampled_from(ORDERED), number=st.integers(1, 5), crash=STEPS_TO_CRASH)
    def take_in(self, order: DemoOrder, number: int, crash: int | None) -> None:
        """What lies there, and one more."""
        self.drop(order, number, 1)

        def act(bridge: Bridge) -> None:
            batch = [
                self.bench.claim(name) for name in self.bench.files(self.bench.source.drop) if name != "art"
            ]
            while batch:
                batch = accept(bridge, batch)

        self._do(act, crash)

    @rule(crash=STEPS_TO_CRASH)
    def release(self, crash: int | None) -> None:
        self._do(release_waiting, crash)

    @rule(target=taken, lane=st.sampled_from(LANES))
    def press_takes(self, lane: str) -> str:
        """The oldest ticket, if there is one."""
        folder = self.bench.lane(lane).tickets
        names = [name for name in self.bench.files(folder) if name.endswith(".jdf")]
        if not names:
            return ""
        entry = names[0].removesuffix(".jdf")
        assert entry not in self.at_press, "a press was given a ticket twice"
        self.at_press[entry] = (lane, (folder / names[0]).read_bytes())
        (folder / names[0]).unlink()
        return entry

    @rule(
        entry=taken,
        status=st.sampled_from(("Setup", "InProgress", "Stopped", "Completed")),
        crash=STEPS_TO_CRASH,
    )
    def press_says(self, entry: str, status: str, crash: int | None) -> None:
        if entry:
            self.said += 1
            with self.bridge.store.transaction() as tx:
                job = tx.standing(entry)
            lane, _ = self.at_press[entry]
            part = (job.job_id, f"{job.job_part_id}.{entry}")
            data = status_jmf(lane, part, status, 1, job.quantity, f"S{self.said}")
            self._hear(lane, f"S{self.said}.jmf", data, crash)

    @rule(entry=consumes(taken), status=st.sampled_from(("Completed", "Aborted")), crash=STEPS_TO_CRASH)
    def press_gives_back(self, entry: str, status: str, crash: int | None) -> None:
        if entry:
            lane, data = self.at_press[entry]
            self._hear(lane, f"{entry}.jdf", press_returns(data, status), crash)

    @rule(number=st.integers(1, 6), wish=st.sampled_from(WISHES), crash=STEPS_TO_CRASH)
    def ask(self, number: int, wish: Wish, crash: int | None) -> None:
        self.said += 1
        asked, name = Request(wish, "op-07", {"queue_entry_id": f"Q{number:06d}"}), f"r{self.said}"
        self._do(lambda bridge: answer(bridge, asked, name), crash)

    @rule()
    def start_again(self) -> None:
        self._do(lambda _: None, 0)

    @invariant()
    def each_file_is_in_one_place(self) -> None:
        if hasattr(self, "bridge"):
            there = Counter(
                name for place in PLACES for name in self.bench.files(self.bench.source.folder / place)
            )
            assert {name: there[name] for name in self.dropped} == dict.fromkeys(self.dropped, 1)

    @invariant()
    def each_ticket_is_with_its_press_once(self) -> None:
        if not hasattr(self, "bridge"):
            return
        with self.bridge.store.transaction() as tx:
            jobs = tx.all_jobs()
            deliveries = [one for lane in LANES for one in tx.deliveries(lane)]
        lie = Counter(list(self.at_press))
        for lane in LANES:
            for path in self.bench.lane(lane).tickets.iterdir():
                held = HELD.fullmatch(path.name)
                lie[held[1] if held else path.stem] += path.suffix in (".jdf", ".tmp")
        for one in deliveries:
            assert lie[one.queue_entry_id] == 1, f"{one} lies there {lie[one.queue_entry_id]} times"
        assert {name for name, count in lie.items() if count} <= {job.queue_entry_id for job in jobs}

    @invariant()
    def no_order_is_two_unfinished_jobs(self) -> None:
        if hasattr(self, "bridge"):
            with self.bridge.store.transaction() as tx:
                alive = Counter(
                    (job.job_id, job.job_part_id) for job in tx.all_jobs() if job.state not in FINAL
                )
            assert [name for name, count in alive.items() if count > 1] == []

    def _hear(self, lane: str, name: str, data: bytes, crash: int | None) -> None:
        places = self.bench.lane(lane)
        path = (places.returned if name.endswith(".jdf") else places.status) / name
        path.write_bytes(data)
        self._do(lambda bridge: follow(bridge, PressFile(lane, path, data, lambda _: None)), crash)
        if path.exists():  # the press's message lies there until the store has it
            self._do(lambda bridge: follow(bridge, PressFile(lane, path, data, lambda _: None)), None)

    def _do(self, act: Callable[[Bridge], object], crash: int | None) -> None:
        if crash is None:
            act(self.bridge)
            return
        with pytest.MonkeyPatch.context() as patch:
            lay(Fuse(crash), patch)
            with suppress(Crash):
                act(self.bridge)
        self.bridge.store.close()
        self.bridge = self.bench.restart()


TestDay = Day.TestCase
TestDay.settings = settings(
    max_examples=int(os.environ.get("TICKETBRIDGE_DAYS", "10")),
    stateful_step_count=25,
    deadline=None,
    phases=(
        Phase.explicit,
        Phase.reuse,
        Phase.generate,
    ),  # a fault tells its own story; making it short takes minutes
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)

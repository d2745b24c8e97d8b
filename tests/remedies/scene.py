"""Where cases are played: a shop with its bridge, and every way in that people have. It hears every finding."""

import functools
import json
import re
import shlex
import threading
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path
from queue import Queue
from typing import Any

from click.testing import CliRunner, Result
from lxml import etree

from tests.unit.flow.bench import BANNER, Bench, press_returns, status_jmf
from ticketbridge.accept.claim import Claimed
from ticketbridge.cli import main
from ticketbridge.config.sample import hotfolders_home
from ticketbridge.daemon import clock
from ticketbridge.daemon.heartbeats import Heartbeats
from ticketbridge.daemon.intake_loop import IntakeLoop
from ticketbridge.daemon.logs import Notices
from ticketbridge.daemon.mapping_watch import load_anew
from ticketbridge.daemon.request_box import answer_requests
from ticketbridge.demo.orders import DemoOrder
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.flow.keep.rescue import mind_shares, rescue_lane
from ticketbridge.flow.lane.releasing import release_waiting
from ticketbridge.flow.press.following import PressFile, follow
from ticketbridge.model.codes import CODES
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.job import Standing
from ticketbridge.model.shop import Limits, Watch
from ticketbridge.spool.gates import hanging
from ticketbridge.vocabulary.names import jdf

Change = Callable[[bytes], bytes]

ANSWERS = (
    "artwork.changed",
    "artwork.gone",
    "channel.",
    "backup.",
    "command.",
    "keeping.",
    "message.",
    "package.",
    "plan.",
    "queue.",
    "request.",
    "rolls.",
    "lanes.roll-heavy",
    "config.shop-not-empty",
    "ticket.url-",
)
"""Areas whose codes reach people as sentences only: as what a command prints, or a Response says."""


def as_it_is(data: bytes) -> bytes:
    """No change."""
    return data


class Told(Notices):
    """The log, of which the findings are kept."""

    def __init__(self) -> None:
        super().__init__()
        self.heard: list[Finding] = []

    def tell(self, event: str, **facts: Any) -> None:
        """Something happened once."""
        if event in CODES:
            self.heard.append(Finding(event, Place(), facts))


class MadeBench(Bench):
    """A bench in a shop folder that is there already."""

    def __post_init__(self) -> None:
        pass


@dataclass
class Scene:
    """A shop and what is said in it.

    Attributes:
        folder: Of the shop, as ``ticketbridge init`` made it.
        heard: Every finding since the case began, or since its remedy began.
        well: Whether the last thing that was tried went well.
    """

    folder: Path
    heard: list[Finding] = field(default_factory=list)
    well: bool = False
    _bridge: Bridge | None = None

    def __post_init__(self) -> None:
        self.bench = MadeBench(self.folder)
        self._written = 0

    @property
    def codes(self) -> list[str]:
        """What was heard, in short."""
        return [finding.code for finding in self.heard]

    # The shop folder, as the administrator changes it

    def edit(self, file: str, old: str, new: str) -> None:
        """Change a file of the shop, once; a bridge that runs ends, and is started anew when it is needed."""
        self.edit_beside(file, old, new)
        self.stop()

    def edit_beside(self, file: str, old: str, new: str) -> None:
        """Change a file of the shop while the bridge runs on."""
        path = self.folder / file
        text = path.read_text()
        assert old in text, f"{old!r} is not in {file}"
        path.write_text(text.replace(old, new, 1))

    def restore(self, file: str) -> None:
        """The file as it was made."""
        (self.folder / file).write_bytes((hotfolders_home() / "sample-shop" / file).read_bytes())
        self.stop()

    def check(self) -> None:
        """``ticketbridge check``."""
        told: dict[str, Any] = json.loads(self.run("check --json").stdout)
        self.heard += [_found(finding) for finding in told["findings"]]
        self.well = bool(told["ok"])

    def init(self, folder: Path) -> None:
        """``ticketbridge init`` of another folder."""
        result = CliRunner().invoke(main, ["init", str(folder)])
        self._hear_text(result.stderr)
        self.well = result.exit_code == 0

    # The bridge

    @property
    def bridge(self) -> Bridge:
        """The running bridge; started where none runs."""
        if self._bridge is None:
            self._bridge = self.bench.restart()
            self._bridge.reload = lambda: load_anew(self.folder).shop
            for box in (self._bridge.places.requests, self._bridge.places.replies):
                box.mkdir(exist_ok=True)
            self._hear_notices(0)
        return self._bridge

    def stop(self) -> None:
        """Let the bridge end, where one runs."""
        if self._bridge is not None:
            self._bridge.store.close()
            self._bridge = None

    def jobs(self) -> list[Standing]:
        """All jobs."""
        with self.bridge.store.transaction() as tx:
            return list(tx.all_jobs())

    # Files that are dropped

    def drop_folder(self, at: str = "mis") -> Path:
        """Where files of a source are dropped."""
        return self.folder / "hotfolders" / at / "drop"

    def drop(self, name: str, data: bytes | str, *, at: str = "mis", whole: bool = True) -> str:
        """Drop a file; where it went."""
        (self.drop_folder(at) / name).write_bytes(data.encode() if isinstance(data, str) else data)
        return self.take(name, at=at, whole=whole)

    def order(self, order: DemoOrder = BANNER, change: Change = as_it_is, *, whole: bool = True) -> str:
        """Drop an order as a JDF ticket with its artwork; where it went."""
        return self.take(self.bench.drop(order, change), whole=whole)

    def lines(self, *lines: str, name: str = "lines.csv") -> str:
        """Drop order lines at the counter with their artwork; where they went."""
        self.bench.drop_lines(name, *lines)
        return self.take(name, at="counter")

    def take(self, name: str, *, at: str = "mis", whole: bool = True) -> str:
        """Let the bridge take in what lies in a drop folder; hear the file's findings and its jobs' verdicts."""
        return self.take_in(self.claim(name, at=at, whole=whole))

    def claim(self, name: str, *, at: str = "mis", whole: bool = True) -> Claimed:
        """The file as the running bridge has claimed it."""
        assert self.bridge  # one that starts later would take it for the leftover of a crash
        return self.bench.claim(name, at=at, whole=whole)

    def take_in(self, claimed: Claimed) -> str:
        """Let the bridge take in a file that lies claimed."""
        bridge, told, answers = self.bridge, len(self.bench.notices), len(self._outbox(claimed.source_id))
        for left in accept(bridge, [claimed]):
            accept(bridge, [left])
        self._hear_notices(told)
        for body in self._outbox(claimed.source_id)[answers:]:
            self._hear_responses(body)
        return self.outcome(claimed)

    def outcome(self, claimed: Claimed) -> str:
        """Where a claimed file went; what the store knows about it is heard."""
        with self.bridge.store.transaction() as tx:
            place, findings = tx.intake_outcome(claimed.claim_id)
            jobs = [tx.job(one.queue_entry_id) for one in tx.all_jobs()]
        self.heard += findings
        for job in jobs:
            if job.claim_id == claimed.claim_id:
                chosen = next(lane for lane in job.judged if lane.device_id == job.device_id)
                self.heard += [verdict.as_finding() for verdict in chosen.verdicts]
        self.well = place in ("accepted", "artwork", "repeated")
        return place or "waiting"

    def hear_refusals(self) -> None:
        """What the store knows about every refused file."""
        with self.bridge.store.transaction() as tx:
            for row in tx.refused_intakes():
                self.heard += tx.intake_outcome(row["claim_id"])[1]

    def watch(self) -> list[Claimed]:
        """Let the source's own loop look at its drop folder once or twice; what it claims, and what it tells."""
        bridge = self.bridge
        source = bridge.sources["mis"].model_copy(
            update={"watch": Watch(events=False, scan_s=0.5, quiet_s=0.5)}
        )
        inbox: Queue[Claimed] = Queue()
        told = Told()
        loop = IntakeLoop(
            source, self.bench.source, Limits(), inbox, lambda: None, told, Heartbeats(clock.monotonic)
        )
        loop.start()
        while not told.heard and inbox.empty():
            time.sleep(0.02)
        loop.stop()
        loop.join(5)
        self.heard += told.heard
        return list(inbox.queue)

    def _outbox(self, source_id: str) -> list[bytes]:
        with self.bridge.store.transaction() as tx:
            return [message.body for message in tx.unsent(f"{source_id}.folder", 0, 1000)]

    def hear_answer(self, body: bytes) -> None:
        """A JMF that answers a message."""
        self._hear_responses(body)
        codes = {one.get("ReturnCode") for one in etree.fromstring(body).iter(jdf("Response"))}
        self.well = codes == {"0"}

    def _hear_responses(self, body: bytes) -> None:
        for response in etree.fromstring(body).iter(jdf("Response")):
            self._hear_text(" ".join("".join(response.itertext()).split()))

    def _hear_notices(self, after: int) -> None:
        told = self.bench.notices[after:]
        self.heard += [Finding(event, Place(), facts) for event, facts in told if event in CODES]  # type: ignore[arg-type]

    def _hear_text(self, text: str) -> None:
        lines = [line.removeprefix("Error: ") for line in text.splitlines()]
        self.heard += [found for line in lines if (found := _finding_of(line)) is not None]

    def hear_verdicts(self, told: Iterable[list[Any]]) -> None:
        """Verdicts as programs are told them."""
        self.heard += [_judged(verdict) for verdict in told]

    # The press

    def press_says(self, device_id: str, job: tuple[str, str], status: str, amount: int, total: int) -> None:
        """A Status signal of a lane."""
        self._written += 1
        name = f"m{self._written}"
        self.press_writes(device_id, f"{name}.jmf", status_jmf(device_id, job, status, amount, total, name))

    def press_writes(self, device_id: str, name: str, data: bytes) -> None:
        """A file in a lane's status or returned folder."""
        bridge, told = self.bridge, len(self.bench.notices)
        lane = self.bench.lane(device_id)
        folder = lane.returned if name.endswith(".jdf") else lane.status
        (folder / name).write_bytes(data)
        follow(bridge, PressFile(device_id, folder / name, data, lambda _: None))
        self._hear_notices(told)
        self.well = True

    def print_all(self) -> None:
        """The presses print what they have, and give it back."""
        for device_id in self.bridge.lanes:
            for ticket in self.bench.lane(device_id).tickets.glob("*.jdf"):
                data = ticket.read_bytes()
                ticket.unlink()
                self.press_writes(device_id, ticket.name, press_returns(data))

    # Commands

    def explain(self, order: DemoOrder = BANNER, lane: str | None = None, change: Change = as_it_is) -> None:
        """``ticketbridge explain`` for an order; of the verdicts only those of the lane named are heard."""
        self.explain_file(self.drop_folder() / self.bench.drop(order, change), lane)

    def explain_file(self, path: Path, lane: str | None = None, options: str = "") -> None:
        """``ticketbridge explain`` for a file that lies somewhere."""
        result = self.run(f"explain --json {options} {shlex.quote(str(path))}")
        assert result.stdout, result.output
        told: dict[str, Any] = json.loads(result.stdout)
        findings = [_found(finding) for finding in told["findings"]]
        others = {judged["device_id"] for item in told["items"] for judged in item["lanes"]} - {lane}
        self.heard += [one for one in findings if lane is None or one.place.path not in others]
        for item in told["items"]:
            for judged in item["lanes"]:
                if lane in (None, judged["device_id"]):
                    self.heard += [_judged(verdict) for verdict in judged["verdicts"]]
        self.well = not told["refused"]

    def command(self, words: str) -> str:
        """A command as people type it, answered by the running bridge; what it prints is heard."""
        bridge = self.bridge
        results: list[Result] = []
        thread = threading.Thread(target=lambda: results.append(self.run(words)))
        thread.start()
        while thread.is_alive():
            answer_requests(bridge)
            thread.join(0.005)
        self.well = results[0].exit_code == 0
        self._hear_text(results[0].output)
        return str(results[0].output)

    def hear_output(self, result: Result) -> None:
        """What a command printed."""
        self.well = result.exit_code == 0
        self._hear_text(result.output)

    def restore_into(self, folder: Path, backup: Path) -> None:
        """``ticketbridge restore``."""
        self.hear_output(CliRunner().invoke(main, ["restore", str(backup), str(folder)]))

    def follow(self, quoted: str, **given: str) -> str:
        """Type the command between backticks that a remedy names; words in capitals are filled in."""
        words = quoted.strip("`")
        for name, value in given.items():
            words = words.replace(name, value)
        return self.command(words)

    def request(self, name: str, text: str) -> None:
        """A request as another program would put it into the box; the answer is heard."""
        places = self.bridge.places
        (places.requests / name).write_text(text)
        answer_requests(self.bridge)
        reply = json.loads((places.replies / name).read_text())
        self.heard += [Finding.from_json(finding) for finding in reply["findings"]]
        self.well = bool(reply["done"])

    def hear_history(self, queue_entry_id: str) -> None:
        """Why a job was held, as ``ticketbridge jobs show`` tells it."""
        for event in json.loads(self.run(f"jobs show --json {queue_entry_id}").stdout)["history"]:
            self._hear_text(str(event["facts"].get("reason", "")))

    def turn(self) -> None:
        """The bridge looks once more at what it could not do before, as it does by itself."""
        told = len(self.bench.notices)
        mind_shares(self.bridge, hanging())
        for device_id in sorted(self.bridge.unfinished_lanes):
            rescue_lane(self.bridge, device_id)
        release_waiting(self.bridge)
        self._hear_notices(told)
        self.well = not self.bridge.unfinished_lanes

    def run(self, words: str) -> Result:
        """A command beside the bridge, as people type it."""
        command, *rest = shlex.split(words.removeprefix("ticketbridge "))
        shop = ["--shop", str(self.folder)]
        return CliRunner().invoke(
            main, [command, *rest, *shop] if command == "jmf" else [command, *shop, *rest]
        )


def _found(told: dict[str, Any]) -> Finding:
    return Finding.from_json({name: told[name] for name in ("code", "place", "facts")})


def _judged(told: list[Any]) -> Finding:
    _, _, code, facts, *_ = told
    return Finding(code, Place(), facts)


def _finding_of(line: str) -> Finding | None:
    """The finding that a line tells, by its sentence and where there is one its remedy; the one that says most."""
    fitting = [
        (len(literal), code, found) for literal, code, pattern in _told() if (found := pattern.match(line))
    ]
    if not fitting:
        return None
    _, code, found = max(fitting, key=lambda one: one[0])
    return Finding(code, Place(), found.groupdict())


@functools.cache
def _told() -> list[tuple[str, str, re.Pattern[str]]]:
    """What does not change of a telling, its code, and the pattern of it with a group for each fact."""
    rows = [row for code, row in CODES.items() if code.startswith(ANSWERS)]
    tellings = [(row.code, text) for row in rows for text in (row.sentence, f"{row.sentence} {row.remedy}")]
    return [(re.sub(r"\{\w+\}", "", text), code, _pattern(text)) for code, text in tellings]


def _pattern(telling: str) -> re.Pattern[str]:
    text, known = "", set()
    for part in re.split(r"(\{\w+\})", telling):
        name = part.strip("{}")
        if part == name:
            text += re.escape(part)
        else:
            text += f"(?P={name})" if name in known else f"(?P<{name}>.+?)"
            known.add(name)
    return re.compile(text + r"(?= |$)")

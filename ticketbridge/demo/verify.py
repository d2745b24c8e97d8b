"""What came out of the demo: read from folders, the presses' own logs and the store, and compared."""

import json
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ticketbridge.demo.house import SOURCES, House
from ticketbridge.demo.orders import FILES, ORDERS, DemoOrder, Form
from ticketbridge.model.job import Job, Standing
from ticketbridge.model.job_states import FINAL, State
from ticketbridge.report.plain_table import table
from ticketbridge.spool.places import ShopPlaces
from ticketbridge.store.store import open_view

PAIR = ("HL-24117", "HL-24118")
"""Two customers whose work runs side by side."""


@dataclass(frozen=True, slots=True)
class Seen:
    """One look at everything."""

    intakes: dict[str, dict[str, Any]]
    """By the name of the dropped file."""
    jobs: dict[tuple[str, str], tuple[Standing, Job]]
    """By the name of the dropped file and the JobID."""
    printed: list[dict[str, Any]]
    """The print logs of all presses, in the order of time."""
    channels: dict[str, tuple[int, int]]
    """Messages promised and surely sent, by channel."""


def look(house: House) -> Seen:
    """Read it all."""
    printed = [line for press_id in house.presses for line in _log(house.press(press_id) / "print-log.jsonl")]
    database = ShopPlaces(house.shop).database
    if not database.exists():
        return Seen({}, {}, printed, {})
    store = open_view(database)
    try:
        with store.transaction() as tx:
            intakes = {str(row["original_name"]): dict(row) for row in tx.intakes(1000)}
            files = {row["claim_id"]: name for name, row in intakes.items()}
            both = [(one, tx.job(one.queue_entry_id)) for one in tx.all_jobs()]
            jobs = {(files[job.claim_id], one.job_id): (one, job) for one, job in both}
            return Seen(intakes, jobs, printed, tx.channels())
    except Exception:
        return Seen({}, {}, printed, {})
    finally:
        store.close()


def _log(path: Path) -> list[dict[str, Any]]:
    if not path.exists():
        return []
    lines = path.read_bytes().split(b"\n")
    return [json.loads(line) for line in lines[:-1]]


def is_over(house: House, seen: Seen) -> bool:
    """Whether nothing more is to come."""
    return (
        len(seen.intakes) == len(FILES)
        and not any(house.to_drop.iterdir())
        and bool(seen.jobs)
        and all(standing.state in FINAL for standing, _ in seen.jobs.values())
        and all(sent == promised for promised, sent in seen.channels.values())
    )


def story(seen: Seen) -> str:
    """The table."""
    rows = []
    for order in ORDERS:
        intake = seen.intakes.get(order.file_name, {})
        standing, job = seen.jobs.get((order.file_name, order.job_id), (None, None))
        refused = next((finding["code"] for finding in intake.get("findings", ())), "")
        rows.append(
            (
                order.file_name,
                order.customer,
                _became(order, seen),
                standing.device_id if standing and order.printed else "",
                str(len(job.layout.placements)) if job and order.printed else "",
                standing.state.value if standing else "" if order.becomes == "repeated" else refused,
                order.story,
            )
        )
    return (
        "\n"
        + table(("File", "Customer", "Became", "Lane", "Printed", "Ended as", "What it shows"), rows)
        + "\n"
    )


def complaints(house: House, seen: Seen, *, in_one_go: bool) -> list[str]:
    """Everything that is not as it should be. Side by side is only due where no interruption came between."""
    wrong = [line for order in ORDERS for line in _about(order, seen)]
    printed = [one for one in seen.jobs.values() if one[0].state is not State.REMOVED]
    wrong += [line for standing, job in seen.jobs.values() for line in _printing(standing, job, seen)]
    wrong += [line for standing, job in printed if job.layout.panels for line in _panels(standing, seen)]
    wrong += _side_by_side(seen) if in_one_go else []
    for source_id in SOURCES:
        files = sorted(house.source(source_id).status.glob("*.jmf"))
        wrong += _messages(f"{source_id}, status folder", files, seen.channels.get(f"{source_id}.folder"))
    wrong += _messages("MIS by HTTP", sorted(house.received.glob("*.jmf")), seen.channels.get("mis.http"))
    for standing, _ in printed:
        if not (house.source(standing.source).returned / f"{standing.queue_entry_id}.jdf").is_file():
            wrong.append(f"{standing.job_id} was not returned to the MIS")
    return wrong


def _became(order: DemoOrder, seen: Seen) -> str:
    """What became of an order: of the lines of a file each has its own end; artwork is taken by being kept."""
    place = str(seen.intakes.get(order.file_name, {}).get("place", "-"))
    if order.form is Form.LINES and place == "accepted":
        return "accepted" if (order.file_name, order.job_id) in seen.jobs else "refused"
    return "accepted" if place == "artwork" else place


def _about(order: DemoOrder, seen: Seen) -> list[str]:
    became = _became(order, seen)
    if became != order.becomes:
        return [f"{order.file_name} should have been {order.becomes}, it became {became}"]
    if became != "accepted":
        return []
    standing, _ = seen.jobs[order.file_name, order.job_id]
    wrong = []
    if order.replaced:
        return [] if standing.state is State.REMOVED else [f"{order.file_name} was not replaced"]
    if order.device_id is not None and standing.device_id != order.device_id:
        wrong.append(f"{order.job_id} should have gone to {order.device_id}, it went to {standing.device_id}")
    if standing.state is not State.COMPLETED or standing.amount != order.quantity:
        wrong.append(
            f"{order.job_id} ended {standing.state.value} with {standing.amount:g} of {order.quantity}"
        )
    return wrong


def _printing(standing: Standing, job: Job, seen: Seen) -> list[str]:
    """Each placement of the layout, and nothing else, exactly once in the press's own log."""
    placements = () if standing.state is State.REMOVED else job.layout.placements
    planned = Counter(_box(p.x_mm, p.y_mm, p.width_mm, p.height_mm) for p in placements)
    printed = Counter(
        _box(line["x_mm"], line["y_mm"], line["width_mm"], line["height_mm"])
        for line in _lines(standing, seen)
    )
    return (
        [] if planned == printed else [f"the press printed {standing.job_id} otherwise than it was laid out"]
    )


def _lines(standing: Standing, seen: Seen) -> list[dict[str, Any]]:
    """What the presses' own logs say of a job."""
    return [line for line in seen.printed if line["job_part_id"].endswith(f".{standing.queue_entry_id}")]


def _panels(standing: Standing, seen: Seen) -> list[str]:
    """The panels of a piece are welded to each other: one lane, one direction, one after the other."""
    lines = _lines(standing, seen)
    together = {(line["device_id"], line["rotated"]) for line in lines}
    in_order = [line["index"] for line in lines] == sorted(line["index"] for line in lines)
    forward = [line["y_mm"] for line in lines] == sorted(line["y_mm"] for line in lines)
    if len(together) == 1 and in_order and forward:
        return []
    return [f"the panels of {standing.job_id} were not printed in order on one lane in one direction"]


def _box(*lengths_mm: float) -> tuple[float, ...]:
    return tuple(round(length_mm, 1) + 0.0 for length_mm in lengths_mm)


def _side_by_side(seen: Seen) -> list[str]:
    spans = []
    for job_id in PAIR:
        found = [standing for standing, _ in seen.jobs.values() if standing.job_id == job_id]
        if not found:
            return [f"{job_id} is missing"]
        times = [line["at"] for line in _lines(found[0], seen)]
        spans.append((min(times, default=""), max(times, default="")))
    (first, last), (other_first, other_last) = spans
    if first <= other_last and other_first <= last:
        return []
    return [f"{PAIR[0]} and {PAIR[1]} were not printed side by side"]


def _messages(where: str, files: Sequence[Path], counts: tuple[int, int] | None) -> list[str]:
    if counts is None or len(files) != counts[0] or counts[0] != counts[1]:
        return [f"{where}: {len(files)} messages, promised and sent {counts}"]
    return []

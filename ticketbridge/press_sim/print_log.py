"""The print log: one line for every box that was laid down, written before anybody is told of it."""

from collections.abc import Collection, Sequence
from pathlib import Path

from ticketbridge.press_sim import jsonl
from ticketbridge.press_sim.placements import Placement
from ticketbridge.press_sim.ticket import Ticket


class PrintLog:
    """The press's one print log. What it holds was printed; what it lacks was not."""

    def __init__(self, path: Path) -> None:
        """Open the log and cut off a line that a kill tore."""
        self._path = path
        jsonl.cut_torn_line(path)

    def printed_at(self, serials: Collection[str]) -> dict[str, list[str]]:
        """For each of the serials the timestamps of its lines, in print order.

        Raises:
            Damaged: A line of the log is not what the press writes.
        """
        found: dict[str, list[str]] = {serial: [] for serial in serials}
        for row in jsonl.rows(self._path):
            if row.get("serial") in found:
                found[row["serial"]].append(row["at"])
        return found

    def add(
        self,
        serial: str,
        device_id: str,
        ticket: Ticket,
        placements: Sequence[Placement],
        at: str,
        beside: Sequence[str] = (),
    ) -> None:
        """Write the placements that were finished at one step, and the serials of what ran beside them."""
        rows = [_row(serial, device_id, ticket, placement, at, beside) for placement in placements]
        jsonl.append(self._path, rows)


def _row(
    serial: str, device_id: str, ticket: Ticket, placement: Placement, at: str, beside: Sequence[str]
) -> jsonl.Row:
    return {
        "serial": serial,
        "device_id": device_id,
        "job_id": ticket.job_id,
        "job_part_id": ticket.job_part_id,
        "index": placement.index,
        "ord": placement.ord,
        "tile": placement.tile,
        "ctm": list(placement.ctm),
        "width_mm": round(placement.box.width, 3),
        "height_mm": round(placement.box.height, 3),
        "x_mm": round(placement.box.left, 3),
        "y_mm": round(placement.box.bottom, 3),
        "rotated": placement.rotated,
        "artwork": ticket.artwork_of(placement),
        "print_mode": ticket.print_mode,
        "layer_stack": " ".join(ticket.carriage_mode.layer_stack),
        "gang": ticket.gang,
        "beside": list(beside),
        "at": at,
    }

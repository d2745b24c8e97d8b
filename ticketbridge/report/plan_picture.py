"""A chart of a plan: time from left to right, a row for each lane, as SVG that reads in black and white.

What prints is a white box with the job's name, what a press has already is grey, changes are hatched. A job that
is late has a thick outline; the triangle under a box is its due time.
"""

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta, tzinfo
from typing import Final

from ticketbridge.model.plan import PlannedJob, ShopPlan
from ticketbridge.report.svg import Node, add, as_bytes, new_picture, number_in_svg, set_attributes

ROW: Final = 56.0
LEFT: Final = 150.0
RIGHT: Final = 30.0
TOP: Final = 70.0
WIDTH: Final = 1400.0
LETTER: Final = 12.0
"""Everything in pixels of a screen; on paper the chart is as wide as the page."""


def plan_picture(plan: ShopPlan, lanes: Mapping[str, str], zone: tzinfo, title: str) -> bytes:
    """The chart as an SVG document, UTF-8.

    Args:
        plan: The plan.
        lanes: Names of the lanes by DeviceID, in the order of the rows.
        zone: The zone of the shop's clock, for the scale.
        title: What stands above.
    """
    return _Chart(plan, lanes, zone).draw(title)


class _Chart:
    def __init__(self, plan: ShopPlan, lanes: Mapping[str, str], zone: tzinfo) -> None:
        self._plan = plan
        self._lanes = list(lanes)
        self._names = lanes
        self._zone = zone
        self._start = plan.made_at
        end = max((job.ends_at for job in plan.jobs), default=plan.made_at + timedelta(hours=1))
        self._span_s = max(3600.0, (end - self._start).total_seconds())
        self._bottom = TOP + ROW * len(self._lanes)
        self._picture = new_picture()

    def draw(self, title: str) -> bytes:
        height = self._bottom + 60
        set_attributes(self._picture, viewBox=f"0 0 {number_in_svg(WIDTH)} {number_in_svg(height)}")
        set_attributes(self._picture, width=number_in_svg(WIDTH), height=number_in_svg(height))
        set_attributes(self._picture, font_family="sans-serif", font_size=number_in_svg(LETTER))
        _hatching(add(self._picture, "defs"))
        self._rect(0, 0, WIDTH, height, fill="white")
        self._words(title, 10, 24, font_size="18", font_weight="bold")
        self._scale()
        for row, device_id in enumerate(self._lanes):
            y = TOP + row * ROW
            self._line(0, y, WIDTH, y)
            self._words(device_id, 10, y + 22, font_weight="bold")
            self._words(self._names[device_id], 10, y + 40)
        self._line(0, self._bottom, WIDTH, self._bottom)
        for job in self._plan.jobs:
            if job.device_id in self._lanes:
                self._job(job)
        self._words(_legend(self._plan), 10, self._bottom + 44)
        return as_bytes(self._picture)

    def _scale(self) -> None:
        """A line and the hour at each step of the clock; the date where the day is another one."""
        step = next(
            hours for hours in (1, 2, 3, 6, 12, 24, 48, 96, 24000) if self._span_s / 3600 / hours <= 16
        )
        moment = self._start.astimezone(self._zone).replace(minute=0, second=0, microsecond=0)
        day = None
        while (moment - self._start).total_seconds() <= self._span_s:
            moment = (moment + timedelta(hours=1)).astimezone(self._zone)
            if moment.hour % min(step, 24) or moment < self._start:
                continue
            x = self._x(moment)
            if x > WIDTH - RIGHT:
                break
            self._line(x, TOP - 12, x, self._bottom, stroke="#bbbbbb")
            self._words(f"{moment:%H:%M}", x, TOP - 16, text_anchor="middle")
            if moment.date() != day:
                day = moment.date()
                self._words(f"{moment:%a %d %b}", x, TOP - 32, text_anchor="middle", font_weight="bold")

    def _job(self, job: PlannedJob) -> None:
        y = TOP + self._lanes.index(job.device_id) * ROW + 8
        begin, end = self._x(job.starts_at), self._x(job.ends_at)
        first = all(
            other.starts_at >= job.starts_at
            for other in self._plan.jobs
            if (other.press, other.block, other.device_id) == (job.press, job.block, job.device_id)
        )
        if first and job.changes_at < job.starts_at:
            changes = self._x(job.changes_at)
            self._rect(changes, y, begin - changes, ROW - 16, fill="url(#changes)", stroke="none")
        late = job.late_minutes > 0
        box = self._rect(begin, y, max(1.0, end - begin), ROW - 16, fill="#d8d8d8" if job.given else "white")
        set_attributes(box, stroke="black", stroke_width="3" if late else "1")
        due = f", due {job.due.astimezone(self._zone):%a %H:%M}" if job.due else ""
        add(box, "title").text = _printable(
            f"{job.queue_entry_id} {job.job_id}: {job.starts_at.astimezone(self._zone):%a %H:%M} to "
            f"{job.ends_at.astimezone(self._zone):%H:%M}{due}; {job.setup}; {job.roll}"
        )
        for row, line in enumerate((job.queue_entry_id, job.job_id)):
            if end - begin > 0.62 * LETTER * len(line):
                self._words(line, begin + 3, y + 15 + 15 * row)
        if job.due is not None and 0 <= (job.due - self._start).total_seconds() <= self._span_s:
            x, top = self._x(job.due), y + ROW - 16
            points = (
                f"{number_in_svg(x)},{number_in_svg(top)} {number_in_svg(x - 4)},{number_in_svg(top + 7)} "
            )
            points += f"{number_in_svg(x + 4)},{number_in_svg(top + 7)}"
            add(self._picture, "polygon", points=points, fill="black" if late else "white", stroke="black")

    def _x(self, moment: datetime) -> float:
        share = (moment - self._start).total_seconds() / self._span_s
        return LEFT + (WIDTH - LEFT - RIGHT) * min(max(share, 0.0), 1.0)

    def _rect(self, x: float, y: float, width: float, height: float, **style: str) -> Node:
        box = add(self._picture, "rect", x=number_in_svg(x), y=number_in_svg(y))
        set_attributes(box, width=number_in_svg(width), height=number_in_svg(height), **style)
        return box

    def _line(self, x1: float, y1: float, x2: float, y2: float, stroke: str = "black") -> None:
        line = add(self._picture, "line", x1=number_in_svg(x1), y1=number_in_svg(y1), stroke=stroke)
        set_attributes(line, x2=number_in_svg(x2), y2=number_in_svg(y2))

    def _words(self, text: str, x: float, y: float, **style: str) -> None:
        words = add(self._picture, "text", x=number_in_svg(x), y=number_in_svg(y), **style)
        words.text = _printable(text)


def _legend(plan: ShopPlan) -> str:
    figures: Sequence[str] = (
        "white prints, grey is at the press, hatched is changed, triangle is due, thick is late",
        f"{plan.figures.late_jobs} late",
        f"{plan.figures.press_hours:.1f} press hours",
        f"at most {plan.gap_percent:.1f} % above the least",
    )
    return "; ".join(figures)


def _printable(text: str) -> str:
    return "".join(letter for letter in text if letter.isprintable())


def _hatching(defs: Node) -> None:
    pattern = add(defs, "pattern", id="changes", width="6", height="6", patternUnits="userSpaceOnUse")
    set_attributes(pattern, patternTransform="rotate(45)")
    add(pattern, "line", x1="0", y1="0", x2="0", y2="6", stroke="black")

"""A plan in words: tables for a terminal, and the reasons for one job's place."""

from collections.abc import Mapping, Sequence
from datetime import datetime, tzinfo

from ticketbridge.decide.plan.shop_plan import AIM, PlannedShop
from ticketbridge.decide.plan.why import OtherPlace, other_places
from ticketbridge.model.codes import sentence
from ticketbridge.model.finding import Finding
from ticketbridge.model.plan import PlanFigures, PlannedJob, ShopPlan
from ticketbridge.model.verdict import Answer
from ticketbridge.report.plain_table import table


def plan_lines(plan: ShopPlan, unplanned: Mapping[str, str], zone: tzinfo) -> list[str]:
    """The order, press by press, then what it comes to."""
    lines: list[str] = []
    for press in dict.fromkeys(job.press for job in plan.jobs):
        headings = (
            "Stop",
            "Entry",
            "JobID",
            "Lane",
            "Starts",
            "Ends",
            "Due",
            "Late",
            "Roll",
            "Mode",
            "Beside",
        )
        rows = [_row(job, zone) for job in plan.jobs if job.press == press]
        lines += [f"Press {press}", table(headings, rows), ""]
    rows = [_figures("this plan", plan.figures, zone), _figures("first come", plan.first_come, zone)]
    lines.append(table(("", "Late", "Late h", "Press h", "Rolls", "Modes", "Done"), rows))
    lines.append(_bound(plan))
    if plan.figures.broken:
        lines.append(
            f"{plan.figures.broken} times no roll in the shop is long enough or a higher priority must wait: "
            "receive rolls, or let a person decide."
        )
    for queue_entry_id, code in {**plan.unplanned, **unplanned}.items():
        lines.append(sentence(Finding(code, facts={"queue_entry_id": queue_entry_id})))
    return lines


def _row(job: PlannedJob, zone: tzinfo) -> tuple[str, ...]:
    return (
        f"{job.block}",
        job.queue_entry_id,
        job.job_id,
        job.device_id,
        "prints" if job.given else _clock(job.starts_at, zone),
        _clock(job.ends_at, zone),
        _clock(job.due, zone) if job.due else "",
        _duration(job.late_minutes * 60) if job.late_minutes else "",
        job.roll,
        job.setup,
        " ".join(job.beside),
    )


def _figures(name: str, figures: PlanFigures, zone: tzinfo) -> tuple[str, ...]:
    return (
        name,
        str(figures.late_jobs),
        f"{figures.late_hours:.1f}",
        f"{figures.press_hours:.2f}",
        str(figures.roll_changes),
        str(figures.setup_changes),
        _clock(figures.finish_at, zone),
    )


def _bound(plan: ShopPlan) -> str:
    least = f"No plan takes less than {plan.least_press_hours:.2f} press hours"
    late = f" or is less than {plan.least_late_hours:.1f} h late" if plan.least_late_hours else ""
    gap = (
        "none is done earlier than this one" if plan.exact else f"this one is {plan.gap_percent:.1f} % above"
    )
    return f"{least}{late}; {gap}. Late h counts hours late by priority."


def why_lines(planned: PlannedShop, queue_entry_id: str, zone: tzinfo) -> list[str]:
    """Why a job stands where it stands: where that is, every other lane, and every earlier moment."""
    job = next((one for one in planned.plan.jobs if one.queue_entry_id == queue_entry_id), None)
    if job is None:
        return []
    beside = f", beside {' '.join(job.beside)}" if job.beside else ""
    when = f"from {_clock(job.starts_at, zone)} to {_clock(job.ends_at, zone)}"
    lines = [
        f"{queue_entry_id} prints on {job.device_id} {when}, after stop {job.block} of press {job.press}{beside}."
    ]
    if job.given:
        return [*lines, "The press has it already; what a press has is not moved."]
    problem = planned.facts.problem
    index = next(at for at, one in enumerate(problem.jobs) if one.name == queue_entry_id)
    places = other_places(problem, planned.blocks, index, AIM)
    earlier = [
        place for place in places if place.start_s < (job.starts_at - planned.now.now).total_seconds() - 1
    ]
    lines.append("Why not earlier:")
    lines += [f"  {_place(planned, place, zone)}" for place in earlier] or [
        "  There is no earlier place for it."
    ]
    lines.append("Why not on another lane:")
    for device_id, judged in planned.facts.judged[queue_entry_id].items():
        if device_id == job.device_id:
            continue
        there = [
            place
            for place in places
            if planned.facts.devices[place.lane] == device_id and place not in earlier
        ]
        reasons = [one for one in judged.verdict.verdicts if one.answer is Answer.NEVER]
        if there:
            lines.append(f"  {_place(planned, there[0], zone)}")
        elif reasons:
            lines.append(f"  {device_id}: {sentence(reasons[0].as_finding())}")
        elif not any(planned.facts.devices[place.lane] == device_id for place in places):
            lines.append(f"  {device_id}: it has no roll for it, or is not open now.")
    return lines


def _place(planned: PlannedShop, place: OtherPlace, zone: tzinfo) -> str:
    """What another place would mean."""
    start = planned.now.now.timestamp() + place.start_s
    moment = datetime.fromtimestamp(start, zone)
    where = f"{planned.facts.devices[place.lane]} from {_clock(moment, zone)}"
    if place.broken:
        return f"{where}: a job of higher priority would come later, or a roll would not last."
    costs = []
    if abs(place.late_s) >= 60:
        costs.append(
            f"{_duration(abs(place.late_s))} {'more' if place.late_s > 0 else 'less'} lateness in all"
        )
    if place.others_late:
        names = [planned.facts.problem.jobs[job].name for job in place.others_late]
        shown = " ".join(names[:5]) + (f" and {len(names) - 5} more" if len(names) > 5 else "")
        costs.append(f"late or later: {shown}")
    if abs(place.press_s) >= 30:
        costs.append(f"{_duration(abs(place.press_s))} {'more' if place.press_s > 0 else 'less'} press time")
    if place.changes:
        costs.append(_more(place.changes, "change"))
    return f"{where}: {'; '.join(costs) or 'as good; nothing would be gained'}."


def _more(count: int, what: str) -> str:
    return f"{abs(count)} {'more' if count > 0 else 'fewer'} {what}{'' if abs(count) == 1 else 's'}"


def _clock(moment: datetime, zone: tzinfo) -> str:
    return f"{moment.astimezone(zone):%a %d %H:%M}"


def _duration(seconds: float) -> str:
    minutes = seconds / 60
    return f"{minutes:.0f} min" if minutes < 120 else f"{minutes / 60:.1f} h"


def places_json(places: Sequence[OtherPlace], planned: PlannedShop) -> list[dict[str, object]]:
    """Other places as plain values."""
    return [
        {
            "device_id": planned.facts.devices[place.lane],
            "start_s": round(place.start_s, 1),
            "end_s": round(place.end_s, 1),
            "more_late_s": round(place.late_s, 1),
            "more_press_s": round(place.press_s, 1),
            "more_changes": place.changes,
            "others_late": [planned.facts.problem.jobs[job].name for job in place.others_late],
            "broken": place.broken,
        }
        for place in places
    ]

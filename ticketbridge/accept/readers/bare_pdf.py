"""Artwork that comes alone becomes an order: its pages say the size, its name the job, the shop all the rest."""

import re
from datetime import datetime, time, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from ticketbridge.accept.pdf_facts import PageFacts, PdfFacts
from ticketbridge.model.finding import Finding, Place, type_of_fact
from ticketbridge.model.standing_ticket import NAME_LENGTH, StandingTicket
from ticketbridge.model.substrate import LayerStack
from ticketbridge.model.ticket import IN_JDF, Read, Ticket, TicketItem, Value
from ticketbridge.vocabulary.words import LAYER_WORDS

OF_THE_ITEM: Final = (
    "stock_brand",
    "stock_type",
    "media_type",
    "media_type_details",
    "opacity",
    "print_preference",
)
"""Words of the standing ticket that are each item's."""

_OF_THE_ORDER: Final = frozenset({"job_id", "priority", "customer_id", "customer_order_id", "customer_name"})
_WHOLE: Final = re.compile(r"\d{1,9}", re.ASCII)
_WHOLE_NUMBERS: Final = ("quantity", "priority")
_WORD_OF_LAYER: Final = dict(zip(("colour", "white", "clear"), LAYER_WORDS, strict=True))
BLEED_TOLERANCE_MM: Final = 0.01
"""Boxes are written in points with few decimals; less than this is no missing bleed."""


class NameUnfit(Exception):
    """The file's name does not say what it must; the finding says why."""

    def __init__(self, finding: Finding) -> None:
        super().__init__(finding.code)
        self.finding = finding


def ticket_of(
    facts: PdfFacts, standing: StandingTicket, file: str, now: datetime, time_zone: str
) -> tuple[Ticket | None, tuple[Finding, ...]]:
    """The order that a PDF means: one item for each page.

    Args:
        facts: What the PDF says of its pages.
        standing: What the shop says of the rest.
        file: The name that it was dropped under.
        now: The time, for the due date.
        time_zone: The shop's, for the end of the day.
    """
    try:
        named = _said_by_name(file, standing)
    except NameUnfit as unfit:
        return None, (unfit.finding,)
    values = {name: read for name, read in named.items() if name in _OF_THE_ORDER}
    if standing.due_days is not None:
        day = now.astimezone(ZoneInfo(time_zone)).date() + timedelta(days=standing.due_days)
        due = datetime.combine(day, time(23, 59, 59), ZoneInfo(time_zone))
        values["due"] = _standing(due, "due_days", str(standing.due_days))
    common = _common(standing) | {name: read for name, read in named.items() if name not in _OF_THE_ORDER}
    many = len(facts.pages) > 1
    items = tuple(
        TicketItem({**common, **_of_page(page, number, standing, many=many)})
        for number, page in enumerate(facts.pages, start=1)
    )
    where = {"job_id": "the file's name, as name_pattern of the standing ticket has it"}
    ticket = Ticket(
        values, items, where={**IN_JDF, **where}, assumed=frozenset({"due"}), parts_are_numbers=True
    )
    return ticket, tuple(_warnings(facts, standing, file))


def _said_by_name(file: str, standing: StandingTicket) -> dict[str, Read]:
    place = Place(file)
    if len(file) > NAME_LENGTH:
        raise NameUnfit(Finding("pdf.name-long", place, {"length": len(file), "limit": NAME_LENGTH}))
    pattern = standing.name_pattern
    if pattern is None:
        said = {"job_id": file.rpartition(".")[0]}
    else:
        found = re.fullmatch(pattern, file)
        if found is None:
            raise NameUnfit(Finding("pdf.name-unfit", place, {"pattern": pattern}))
        said = {name: text.strip() for name, text in found.groupdict().items() if text and text.strip()}
    return {
        name: Read(_value(name, text, place), text, f"file name, {name}", None) for name, text in said.items()
    }


def _value(name: str, text: str, place: Place) -> Value:
    if name not in _WHOLE_NUMBERS:
        return text
    if not _WHOLE.fullmatch(text):
        raise NameUnfit(Finding("pdf.name-number", place, {"group": name, "found": text}))
    return int(text)


def _common(standing: StandingTicket) -> dict[str, Read]:
    values = {name: _standing(word, name, word) for name in OF_THE_ITEM if (word := getattr(standing, name))}
    values["quantity"] = _standing(standing.quantity, "quantity", str(standing.quantity))
    if standing.layer_stack is not None:
        values["layer_stack"] = _standing(
            _words(standing.layer_stack), "layer_stack", standing.layer_stack.value
        )
    return values


def _of_page(page: PageFacts, number: int, standing: StandingTicket, *, many: bool) -> dict[str, Read]:
    place = f"page {number}, {page.box}"
    size = f"{page.width_mm:g} x {page.height_mm:g} mm"
    values = {
        "finished_width_mm": Read(page.width_mm, size, place, None),
        "finished_height_mm": Read(page.height_mm, size, place, None),
        "bleed_mm": Read(page.bleed_mm, f"{page.bleed_mm:g} mm", f"page {number}, BleedBox", None)
        if standing.bleed_mm is None
        else _standing(standing.bleed_mm, "bleed_mm", f"{standing.bleed_mm:g}"),
        "artwork_page": Read(number - 1, str(number - 1), f"page {number}", None),
    }
    if many:
        values["job_part_id"] = Read(str(number), str(number), f"page {number}", None)
    return values


def _warnings(facts: PdfFacts, standing: StandingTicket, file: str) -> list[Finding]:
    place = Place(file)
    found = []
    if facts.active:
        found.append(Finding("pdf.active-content", place, {"what": ", ".join(facts.active)}))
    for number, page in enumerate(facts.pages, start=1):
        about: dict[str, type_of_fact] = {"page": number}
        if page.clipped:
            found.append(Finding("pdf.box-clipped", place, about))
        if standing.bleed_mm is not None and page.bleed_mm < standing.bleed_mm - BLEED_TOLERANCE_MM:
            short = about | {"there_mm": page.bleed_mm, "wanted_mm": standing.bleed_mm}
            found.append(Finding("pdf.bleed-short", place, short))
    return found


def _standing(value: Value, name: str, raw: str) -> Read:
    return Read(value, raw, f"standing_ticket.{name}", None)


def _words(stack: LayerStack) -> str:
    return " ".join(_WORD_OF_LAYER[layer] for layer in stack.layers)

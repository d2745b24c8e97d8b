"""The file to print, and what its boxes say of the piece, as a process ticket's RunList names them."""

from collections.abc import Iterator
from dataclasses import dataclass

from ticketbridge.jdf.partitions import Chosen
from ticketbridge.jdf.process_reading import ProcessReading
from ticketbridge.jdf.read_artwork import add_file
from ticketbridge.jdf.read_measures import mm, numbers
from ticketbridge.jdf.spans import Said


@dataclass(frozen=True, slots=True)
class Sheet:
    """One file of a RunList.

    Attributes:
        run: The RunList, or the leaf of it, that holds the file.
        element: Its LayoutElement.
        url: Where the file is.
    """

    run: Chosen
    element: Chosen
    url: Said


def artwork_of(item: ProcessReading) -> Sheet | None:
    """The file that the node prints: the first RunList that names one."""
    for run_list in item.inputs("RunList"):
        files = list(_files(item, run_list))
        if files:
            _find_more_than_one(item, files)
            return files[0]
    return None


def add_process_artwork(item: ProcessReading, sheet: Sheet) -> None:
    """Add the file, its page, and the bleed around its trim box."""
    add_file(item, sheet.url, sheet.run.said_by("Directory"), sheet.run.said_by("Pages"))
    has_bleeds = sheet.element.said_by("HasBleeds")
    if has_bleeds is not None:
        item.add("has_bleeds", has_bleeds.raw.strip() == "true", has_bleeds)
    _add_bleed(item, sheet.element.said_by("SourceTrimBox"), sheet.element.said_by("SourceBleedBox"))


def trimmed_size_pt(item: ProcessReading, sheet: Sheet) -> tuple[float, float, Said] | None:
    """Width and height of the trim box of the artwork, in points, and where it stands."""
    trim = sheet.element.said_by("SourceTrimBox")
    box = None if trim is None else numbers(item, trim, 4, "trim box")
    if trim is None or box is None:
        return None
    left, bottom, right, top = box[0]
    return right - left, top - bottom, trim


def _files(item: ProcessReading, run_list: Chosen) -> Iterator[Sheet]:
    for run in run_list.each():
        for elements in item.held(run.holder("LayoutElement"), "LayoutElement"):
            for element in elements.each():
                for files in item.held(element.holder("FileSpec"), "FileSpec"):
                    for file in files.each():
                        url = file.said_by("URL")
                        if url is not None:
                            yield Sheet(run, element, url)


def _find_more_than_one(item: ProcessReading, files: list[Sheet]) -> None:
    """An item is one page; a run list may hold a book."""
    first = files[0]
    if len(files) > 1:
        item.reading.find("ticket.more-than-one-page", first.url, "RunList", count=f"{len(files)} files")
        return
    for attribute in ("NPage", "Pages"):
        pages = first.run.said_by(attribute)
        count = 1 if pages is None else _count(pages.raw, counted=attribute == "NPage")
        if pages is not None and count > 1:
            item.reading.find("ticket.more-than-one-page", pages, "RunList", count=f"{count} pages")
            return


def _count(raw: str, *, counted: bool) -> int:
    """How many pages a number or a list of ranges names; one where that depends on the file."""
    try:
        if counted:
            return int(raw)
        words = raw.replace("~", " ~ ").split()
        if "~" not in words:
            return len(words)
        first, last = (int(word) for word in " ".join(words).split(" ~ "))
    except ValueError:
        return 1
    return last - first + 1 if (first < 0) == (last < 0) else 1


def _add_bleed(item: ProcessReading, trim: Said | None, bleed: Said | None) -> None:
    """What the bleed box leaves around the trim box on every side."""
    if trim is None or bleed is None:
        return
    inner, outer = numbers(item, trim, 4, "trim box"), numbers(item, bleed, 4, "bleed box")
    if inner is None or outer is None:
        return
    sides_pt = [
        sign * (of_trim - of_bleed)
        for sign, of_trim, of_bleed in zip((1, 1, -1, -1), inner[0], outer[0], strict=True)
    ]
    item.add("bleed_mm", max(mm(min(sides_pt)), 0.0), bleed)

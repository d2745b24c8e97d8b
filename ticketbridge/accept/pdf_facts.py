"""What a PDF says of its pages, found in a process of its own: ``python -m ticketbridge.accept.pdf_facts FILE``.

A PDF is a program's worth of structure from a stranger, so it is never opened in the bridge's own process. The
child limits its own memory and processor time, reads boxes and nothing else, decodes no page content, and
writes its answer as one line of JSON. Page boxes: ISO 32000-1, 14.11.2; UserUnit and Rotate: table 30.
"""

import json
import math
import resource
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from ticketbridge.vocabulary.units import mm_from_points

if TYPE_CHECKING:
    import pikepdf

MEMORY_BYTES: Final = 1024**3
PROCESSOR_S: Final = 5
WALL_S: Final = 10.0
MOST_PAGES: Final = 100
LONGEST_MM: Final = 100_000.0
"""Two rolls long: no page is."""
DEEPEST_PAGE_TREE: Final = 64
ANSWER_BYTES: Final = 200_000

Box = tuple[float, float, float, float]
"""Left, bottom, right, top in default user space units."""

Line = tuple[Any, ...]
"""A page object and the nodes of the page tree above it, the nearest first."""


@dataclass(frozen=True, slots=True)
class PageFacts:
    """One page as it is seen upright.

    Attributes:
        width_mm: Of the finished size, after rotation and UserUnit.
        height_mm: The same.
        box: The box that gave it: ``TrimBox``, ``CropBox`` or ``MediaBox``.
        bleed_mm: What the file has around it on every side; 0 where there is no BleedBox.
        clipped: Whether the box reached beyond the page and was cut to it.
    """

    width_mm: float
    height_mm: float
    box: str
    bleed_mm: float
    clipped: bool


@dataclass(frozen=True, slots=True)
class PdfFacts:
    """A PDF that can be printed.

    Attributes:
        pages: Its pages in order.
        active: Kinds of content in it that would act or carry something along; it is ignored.
    """

    pages: tuple[PageFacts, ...]
    active: tuple[str, ...]


class PdfUnfit(Exception):
    """The PDF cannot be used: a finding code and its facts."""

    def __init__(self, code: str, **facts: str | int | float) -> None:
        super().__init__(code)
        self.code = code
        self.facts = facts


def facts_of(path: Path) -> PdfFacts:
    """Ask a child process about a PDF.

    Raises:
        PdfUnfit: It is none, is damaged or encrypted, its pages have no usable size, or it took too much.
    """
    try:
        child = subprocess.run(  # noqa: S603  our own program, and the file's name is one argument
            [sys.executable, "-m", "ticketbridge.accept.pdf_facts", str(path)],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            timeout=WALL_S,
            check=False,
        )
    except subprocess.TimeoutExpired as error:
        raise PdfUnfit("pdf.too-much", limit=f"{WALL_S:g} s") from error
    try:
        answer = json.loads(child.stdout[:ANSWER_BYTES])
    except ValueError as error:
        raise PdfUnfit("pdf.too-much", limit=f"{PROCESSOR_S} s or {MEMORY_BYTES // 1024**2} MiB") from error
    if "code" in answer:
        raise PdfUnfit(answer["code"], **answer["facts"])
    return PdfFacts(tuple(PageFacts(**page) for page in answer["pages"]), tuple(answer["active"]))


def main(path: str) -> None:
    """The child: limit itself, look, answer."""
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    resource.setrlimit(resource.RLIMIT_CPU, (PROCESSOR_S, PROCESSOR_S))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    try:
        answer: dict[str, Any] = asdict(look(Path(path)))
    except PdfUnfit as unfit:
        answer = {"code": unfit.code, "facts": unfit.facts}
    except MemoryError:
        answer = {"code": "pdf.too-much", "facts": {"limit": f"{MEMORY_BYTES // 1024**2} MiB"}}
    sys.stdout.write(json.dumps(answer))


def look(path: Path) -> PdfFacts:
    """The facts, in this process.

    Raises:
        PdfUnfit: As ``facts_of``.
    """
    import pikepdf

    try:
        with pikepdf.open(
            path, attempt_recovery=False, suppress_warnings=True, inherit_page_attributes=False
        ) as pdf:
            lines = list(islice(_leaves(pdf.Root.Pages, (), set()), MOST_PAGES + 1))
            if not 0 < len(lines) <= MOST_PAGES:
                raise PdfUnfit("pdf.pages", found=len(lines), limit=MOST_PAGES)
            pages = tuple(_page(line, number) for number, line in enumerate(lines, start=1))
            return PdfFacts(pages, tuple(_active(pdf)))
    except pikepdf.PasswordError as error:
        raise PdfUnfit("pdf.encrypted") from error
    except (pikepdf.PdfError, ValueError, TypeError, AttributeError, KeyError, RuntimeError) as error:
        reason = " ".join(str(error).replace(str(path), "").split())[:120].strip(" :")
        raise PdfUnfit("pdf.damaged", reason=reason or type(error).__name__) from error


def _leaves(node: Any, above: Line, seen: set[tuple[int, int]]) -> Iterator[Line]:
    """Every page with the nodes above it.

    The tree is walked here as it stands, because the library mends as it counts: a page without a MediaBox
    would come back in letter size.
    """
    if node.objgen in seen or len(above) > DEEPEST_PAGE_TREE:
        raise PdfUnfit("pdf.damaged", reason="its page tree loops")
    if node.is_indirect:
        seen.add(node.objgen)
    line = (node, *above)
    kids = node.get("/Kids")
    if kids is None:
        yield line
        return
    for kid in kids:
        yield from _leaves(kid, line, seen)


def _page(line: Line, number: int) -> PageFacts:
    media = _box(line, "MediaBox", number)
    if media is None:
        raise PdfUnfit("pdf.no-size", page=number, reason="it has no MediaBox")
    crop = _clip(_box(line, "CropBox", number) or media, media, number)
    said = _box(line, "TrimBox", number, inherited=False)
    name = "TrimBox" if said else ("CropBox" if _inherited(line, "CropBox") is not None else "MediaBox")
    trim = _clip(said or crop, media, number)
    bleed = _clip(_box(line, "BleedBox", number, inherited=False) or trim, media, number)
    unit_mm = mm_from_points(_user_unit(line, number))
    width_mm, height_mm = (trim[2] - trim[0]) * unit_mm, (trim[3] - trim[1]) * unit_mm
    for length_mm in (width_mm, height_mm):
        if not 0 < length_mm <= LONGEST_MM:
            reason = f"a side of {length_mm:.6g} mm is none that a roll could print"
            raise PdfUnfit("pdf.no-size", page=number, reason=reason)
    if _turned(line, number):
        width_mm, height_mm = height_mm, width_mm
    around = (trim[0] - bleed[0], trim[1] - bleed[1], bleed[2] - trim[2], bleed[3] - trim[3])
    return PageFacts(
        width_mm=round(width_mm, 3),
        height_mm=round(height_mm, 3),
        box=name,
        bleed_mm=round(max(0.0, min(around)) * unit_mm, 3),
        clipped=said is not None and said != trim,
    )


def _inherited(line: Line, name: str) -> Any:
    """The page's own value, or that of the nearest node above it that has one."""
    return next((value for node in line if (value := node.get(f"/{name}")) is not None), None)


def _box(line: Line, name: str, number: int, *, inherited: bool = True) -> Box | None:
    """A box with its corners put in order."""
    raw = _inherited(line, name) if inherited else line[0].get(f"/{name}")
    if raw is None:
        return None
    try:
        left, bottom, right, top = (float(value) for value in raw)
    except (TypeError, ValueError) as error:
        raise PdfUnfit("pdf.no-size", page=number, reason=f"its {name} is not four numbers") from error
    box = (min(left, right), min(bottom, top), max(left, right), max(bottom, top))
    if not all(math.isfinite(value) for value in box):
        raise PdfUnfit("pdf.no-size", page=number, reason=f"its {name} is not four numbers")
    return box


def _clip(box: Box, media: Box, number: int) -> Box:
    """What of a box lies on the page."""
    left, bottom = max(box[0], media[0]), max(box[1], media[1])
    right, top = min(box[2], media[2]), min(box[3], media[3])
    if right <= left or top <= bottom:
        raise PdfUnfit("pdf.no-size", page=number, reason="nothing of its boxes lies on the page")
    return left, bottom, right, top


def _user_unit(line: Line, number: int) -> float:
    """Points in one unit of the page's space; it belongs to the page alone and is not inherited."""
    raw = line[0].get("/UserUnit")
    try:
        unit = 1.0 if raw is None else float(raw)
    except (TypeError, ValueError):
        unit = math.nan
    if not (math.isfinite(unit) and unit > 0):
        raise PdfUnfit("pdf.no-size", page=number, reason="its UserUnit is not a number above 0")
    return unit


def _turned(line: Line, number: int) -> bool:
    """Whether the page is shown lying on its side."""
    raw = _inherited(line, "Rotate")
    try:
        angle = 0 if raw is None else int(raw)
    except (TypeError, ValueError):
        angle = 1
    if angle % 90:
        raise PdfUnfit("pdf.no-size", page=number, reason="its Rotate is not a multiple of 90 degrees")
    return angle % 180 == 90


def _active(pdf: "pikepdf.Pdf") -> Iterator[str]:
    root = pdf.Root
    names: Any = root.get("/Names")
    for holder, key, word in (
        (root, "/OpenAction", "an action on opening"),
        (root, "/AA", "actions"),
        (names, "/JavaScript", "scripts"),
        (names, "/EmbeddedFiles", "embedded files"),
    ):
        if holder is not None and holder.get(key) is not None:
            yield word


if __name__ == "__main__":
    main(sys.argv[1])

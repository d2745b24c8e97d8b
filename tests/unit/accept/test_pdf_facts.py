"""What a PDF says of its pages, and every way in which it can fail to."""

import time
import zlib
from pathlib import Path

import pikepdf
import pytest

from tests.unit.accept.pdfs import assembled, pdf, put
from ticketbridge.accept import pdf_facts
from ticketbridge.accept.pdf_facts import PageFacts, PdfUnfit, facts_of, look

MEDIA = "/MediaBox [0 0 720 360]"
"""10 by 5 inches: 254 by 127 mm."""


def page(tmp_path: Path, *entries: str, tree: str = "") -> PageFacts:
    return look(put(tmp_path, pdf(" ".join(entries), tree=tree))).pages[0]


def size(facts: PageFacts) -> tuple[float, float]:
    return facts.width_mm, facts.height_mm


@pytest.mark.parametrize(
    ("what", "entries", "tree", "found", "box"),
    [
        ("the MediaBox alone", MEDIA, "", (254, 127), "MediaBox"),
        ("the CropBox before it", f"{MEDIA} /CropBox [0 0 360 360]", "", (127, 127), "CropBox"),
        ("the TrimBox before both", f"{MEDIA} /CropBox [0 0 360 360] /TrimBox [72 72 144 288]", "", (25.4, 76.2),
         "TrimBox"),
        ("boxes of the tree", "", MEDIA + " /CropBox [0 0 72 72]", (25.4, 25.4), "CropBox"),
        ("corners the other way round", "/MediaBox [720 360 0 0]", "", (254, 127), "MediaBox"),
        ("an origin below zero", "/MediaBox [-360 -180 360 180]", "", (254, 127), "MediaBox"),
        ("a UserUnit of ten", MEDIA + " /UserUnit 10", "", (2540, 1270), "MediaBox"),
        ("a UserUnit of the tree is none", MEDIA, "/UserUnit 10", (254, 127), "MediaBox"),
        ("more than 14,400 units", "/MediaBox [0 0 72000 7200]", "", (25400, 2540), "MediaBox"),
        ("turned by 90", MEDIA + " /Rotate 90", "", (127, 254), "MediaBox"),
        ("turned by 450", MEDIA + " /Rotate 450", "", (127, 254), "MediaBox"),
        ("turned by -90", MEDIA + " /Rotate -90", "", (127, 254), "MediaBox"),
        ("turned by 180", MEDIA + " /Rotate 180", "", (254, 127), "MediaBox"),
        ("turned by the tree", MEDIA, "/Rotate 270", (127, 254), "MediaBox"),
    ],
)  # fmt: skip
def test_the_size_is_that_of_the_innermost_box_as_it_is_seen(
    tmp_path: Path, what: str, entries: str, tree: str, found: tuple[float, float], box: str
) -> None:
    facts = page(tmp_path, entries, tree=tree)

    assert (size(facts), facts.box) == (found, box)


def test_a_trim_box_beyond_the_page_is_cut_to_it_and_said(tmp_path: Path) -> None:
    facts = page(tmp_path, MEDIA, "/TrimBox [-72 -72 360 360]")

    assert (size(facts), facts.clipped) == ((127, 127), True)


def test_the_bleed_is_the_smallest_of_the_four_sides(tmp_path: Path) -> None:
    facts = page(tmp_path, MEDIA, "/TrimBox [72 72 648 288] /BleedBox [36 36 684 306]")

    assert facts.bleed_mm == 6.35  # 18 pt above it


def test_each_page_has_its_own_size(tmp_path: Path) -> None:
    facts = look(put(tmp_path, pdf(MEDIA, "/MediaBox [0 0 72 72]")))

    assert [size(one) for one in facts.pages] == [(254, 127), (25.4, 25.4)]


@pytest.mark.parametrize(
    ("what", "data", "code"),
    [
        ("no MediaBox", pdf(""), "pdf.no-size"),
        ("a box of three", pdf("/MediaBox [0 0 72]"), "pdf.no-size"),
        ("a box of words", pdf("/MediaBox [/a /b /c /d]"), "pdf.no-size"),
        ("a box of nothing", pdf("/MediaBox [0 0 0 72]"), "pdf.no-size"),
        ("a trim box beside the page", pdf(MEDIA + " /TrimBox [800 0 900 100]"), "pdf.no-size"),
        ("a page of five kilometres", pdf("/MediaBox [0 0 100 14173228]"), "pdf.no-size"),
        ("numbers without end", pdf(f"/MediaBox [0 0 1{'0' * 400} 72]"), "pdf.damaged"),
        ("a UserUnit of zero", pdf(MEDIA + " /UserUnit 0"), "pdf.no-size"),
        ("a UserUnit below zero", pdf(MEDIA + " /UserUnit -1"), "pdf.no-size"),
        ("a UserUnit of a milliard", pdf(MEDIA + " /UserUnit 1000000000"), "pdf.no-size"),
        ("a UserUnit of words", pdf(MEDIA + " /UserUnit /Ten"), "pdf.no-size"),
        ("turned by 45", pdf(MEDIA + " /Rotate 45"), "pdf.no-size"),
        ("no page", pdf(), "pdf.pages"),
        ("too many pages", pdf(*[MEDIA] * 101), "pdf.pages"),
        ("cut in half", pdf(MEDIA)[:120], "pdf.damaged"),
        ("no table", pdf(MEDIA).replace(b"xref", b"xxxx"), "pdf.damaged"),
        ("a page tree that loops", assembled(
            ["<< /Type /Catalog /Pages 2 0 R >>", "<< /Type /Pages /Kids [2 0 R] /Count 1 >>"]), "pdf.damaged"),
        ("no page tree", assembled(["<< /Type /Catalog >>"]), "pdf.damaged"),
        ("a page that is a number", assembled(
            ["<< /Type /Catalog /Pages 2 0 R >>", "<< /Type /Pages /Kids [3 0 R] /Count 1 >>", "7"]), "pdf.damaged"),
        ("empty", b"", "pdf.damaged"),
        ("a web page", b"<!DOCTYPE html><title>x</title>%%EOF", "pdf.damaged"),
        ("an archive", b"PK\x03\x04" + bytes(100) + b"%%EOF", "pdf.damaged"),
        ("two documents in one", pdf(MEDIA) + pdf("/MediaBox [0 0 72 72]"), "pdf.damaged"),
    ],
)  # fmt: skip
def test_a_pdf_that_cannot_be_relied_on_is_refused_by_name(
    tmp_path: Path, what: str, data: bytes, code: str
) -> None:
    with pytest.raises(PdfUnfit) as unfit:
        look(put(tmp_path, data))

    assert unfit.value.code == code


def encrypted(folder: Path, user: str) -> Path:
    with pikepdf.open(put(folder, pdf(MEDIA))) as plain:
        plain.save(folder / "e.pdf", encryption=pikepdf.Encryption(owner="owner", user=user))
    return folder / "e.pdf"


def test_encryption_with_a_password_is_refused(tmp_path: Path) -> None:
    with pytest.raises(PdfUnfit) as unfit:
        look(encrypted(tmp_path, "secret"))

    assert unfit.value.code == "pdf.encrypted"


def test_encryption_with_an_empty_password_is_opened(tmp_path: Path) -> None:
    assert size(look(encrypted(tmp_path, "")).pages[0]) == (254, 127)


def test_active_content_is_named_and_left_alone(tmp_path: Path) -> None:
    root = "/OpenAction << /S /JavaScript /JS (app.alert) >> /Names << /EmbeddedFiles << >> >>"

    assert look(put(tmp_path, pdf(MEDIA, root=root))).active == ("an action on opening", "embedded files")


def test_the_child_process_answers_the_same(tmp_path: Path) -> None:
    path = put(tmp_path, pdf(MEDIA, "/MediaBox [0 0 72 72]"), "with blanks and \u00e4.pdf")

    assert facts_of(path) == look(path)


def test_the_child_process_tells_why_not(tmp_path: Path) -> None:
    with pytest.raises(PdfUnfit) as unfit:
        facts_of(put(tmp_path, b"no PDF"))

    assert unfit.value.code == "pdf.damaged"


def test_a_stream_that_unpacks_without_end_meets_the_limit_of_memory_or_time(tmp_path: Path) -> None:
    """The cross-reference is a compressed stream of 1.5 GB of zeros, which every reader must unpack."""
    bomb = _deflated_zeros(3 * 512 * 1024**2)
    head = b"%PDF-1.6\n1 0 obj\n<< /Type /XRef /Size 9 /W [1 4 2] /Root 2 0 R /Filter /FlateDecode"
    data = (
        head
        + f" /Length {len(bomb)} >>\nstream\n".encode()
        + bomb
        + b"\nendstream\nendobj\nstartxref\n9\n%%EOF\n"
    )
    began_s = time.monotonic()

    with pytest.raises(PdfUnfit) as unfit:
        facts_of(put(tmp_path, data))

    assert unfit.value.code in ("pdf.too-much", "pdf.damaged")
    assert time.monotonic() - began_s < pdf_facts.WALL_S + 2


def _deflated_zeros(length: int) -> bytes:
    packer, zeros = zlib.compressobj(1), bytes(16 * 1024**2)
    parts = [packer.compress(zeros) for _ in range(length // len(zeros))]
    return b"".join(parts) + packer.flush()


def test_a_child_that_hangs_is_ended(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pdf_facts, "WALL_S", 0.001)

    with pytest.raises(PdfUnfit) as unfit:
        facts_of(put(tmp_path, pdf(MEDIA)))

    assert unfit.value.code == "pdf.too-much"

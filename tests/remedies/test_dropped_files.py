"""Files that cannot be taken as they come, and their artwork; then as the remedy wants them."""

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.remedies.changes import BANNER, CANVAS, replaced
from tests.remedies.provokes import provokes
from tests.remedies.scene import Scene
from tests.unit.accept.pdfs import pdf
from tests.unit.flow.bench import COUNTER_HEADINGS, counter_line
from ticketbridge.demo.orders import artwork, ticket
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.flow.intake.waiting import wake
from ticketbridge.spool import durable

Steps = Iterator[None]
ART = f'URL="art/{BANNER.job_id}.pdf"'
PAGE = "/MediaBox [0 0 720 360]"
PDF_NAME = "HL-7_3x_Fair banner.pdf"


# The file itself


@provokes("intake.unfinished", "Send it again whole")
def test_half_a_file(scene: Scene) -> Steps:
    scene.order(change=lambda data: data[:400], whole=False)
    yield
    scene.order()


@provokes("intake.grew", "a name that ends in .tmp")
def test_a_writer_that_goes_on_writing(scene: Scene, monkeypatch: pytest.MonkeyPatch) -> Steps:
    sync = durable.sync_folder

    def sync_while_it_grows(folder: Path) -> None:
        for path in folder.glob(f"*{BANNER.file_name}"):
            with path.open("ab") as file:
                file.write(b"<!-- late -->")
        sync(folder)

    monkeypatch.setattr(durable, "sync_folder", sync_while_it_grows)
    scene.order()
    yield
    monkeypatch.setattr(durable, "sync_folder", sync)
    (scene.drop_folder() / "canvas.tmp").write_bytes(ticket(CANVAS))
    (scene.drop_folder() / "canvas.tmp").rename(scene.drop_folder() / "canvas.jdf")
    (scene.drop_folder() / "art" / f"{CANVAS.job_id}.pdf").write_bytes(artwork(CANVAS))
    scene.take("canvas.jdf")


@provokes("intake.unreadable", "with rights that let the bridge's account or group read it")
def test_a_file_that_the_bridge_may_not_read(scene: Scene, monkeypatch: pytest.MonkeyPatch) -> Steps:
    reading = durable.read_and_sync

    def no_right(*_: object) -> bytes:  # root may read everything, so the kernel's answer is given here
        raise PermissionError(13, os.strerror(13))

    monkeypatch.setattr(durable, "read_and_sync", no_right)
    scene.order()
    yield
    monkeypatch.setattr(durable, "read_and_sync", reading)
    scene.order()


@provokes("intake.set-aside", "Tell whoever looks after ticketbridge")
def test_a_file_over_which_the_bridge_ends_again_and_again(
    scene: Scene, monkeypatch: pytest.MonkeyPatch
) -> Steps:
    scene.claim(scene.bench.drop(BANNER))

    def falls(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("ticketbridge.flow.keep.rescue.accept", falls)
    for _ in range(10):
        scene.stop()
        try:
            assert scene.bridge
        except KeyboardInterrupt:
            continue
        break
    scene.hear_refusals()
    yield
    monkeypatch.setattr(
        "ticketbridge.flow.keep.rescue.accept", accept
    )  # whoever looks after it has mended it
    scene.order(CANVAS)
    assert [path for path in scene.bench.source.refused.iterdir() if path.name.endswith(BANNER.file_name)]


@provokes("intake.overtaken", "Drop it again if it is meant after all")
def test_a_ticket_that_a_newer_one_overtook_while_it_waited(scene: Scene) -> Steps:
    scene.bench.let_wait(100)
    bridge = scene.bridge
    bridge.unfinished_lanes.update(bridge.lanes)  # so that the bridge keeps what it takes
    art = scene.drop_folder() / "art"
    late = scene.claim(scene.bench.drop(BANNER))
    (art / f"{BANNER.job_id}.pdf").unlink()
    assert scene.take_in(late) == "waiting"
    (art / "newer.pdf").write_bytes(artwork(CANVAS))
    scene.bench.drop(BANNER, replaced((ART, 'URL="art/newer.pdf"')))
    (art / f"{BANNER.job_id}.pdf").unlink()
    assert scene.take(BANNER.file_name) == "accepted"
    (art / f"{BANNER.job_id}.pdf").write_bytes(artwork(BANNER))
    for _ in range(3):
        for woken in wake(bridge):
            scene.take_in(woken)
        for _ in range(3):
            next(scene.bench.clock)
    yield
    assert scene.order() == "accepted"


@provokes("intake.unknown-name", "Give a ticket the ending .jdf")
def test_a_name_that_says_nothing(scene: Scene) -> Steps:
    scene.bench.drop(BANNER)
    drop = scene.drop_folder()
    (drop / BANNER.file_name).rename(drop / "banner.ticket")
    scene.watch()
    yield
    (drop / "banner.ticket").rename(drop / BANNER.file_name)
    [claimed] = scene.watch()
    scene.take_in(claimed)


# Its artwork


@provokes("artwork.none", "Name the file")
def test_an_item_without_artwork(scene: Scene) -> Steps:
    def without(data: bytes) -> bytes:
        before, _, rest = data.partition(b'<ArtDeliveryIntent ID="ai"')
        data = before + rest.partition(b"</ArtDeliveryIntent>")[2]
        return data.replace(b'<ArtDeliveryIntentLink Usage="Input" rRef="ai"/>', b"")

    scene.order(change=without)
    yield
    scene.order()


@provokes("artwork.missing", "Put the artwork there first, then drop the ticket again")
def test_artwork_that_is_not_there(scene: Scene) -> Steps:
    name = scene.bench.drop(BANNER)
    art = scene.drop_folder() / "art" / f"{BANNER.job_id}.pdf"
    art.unlink()
    scene.take(name)
    yield
    art.write_bytes(artwork(BANNER))
    [refused] = (path for path in scene.bench.source.refused.iterdir() if path.suffix == ".jdf")
    scene.drop(name, refused.read_bytes())


@provokes("artwork.outside", "have the administrator add its folder to artwork_roots")
def test_artwork_outside_the_folders_allowed(scene: Scene) -> Steps:
    elsewhere = scene.folder.parent / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "a.pdf").write_bytes(artwork(BANNER))
    change = replaced((ART, f'URL="{(elsewhere / "a.pdf").as_uri()}"'))
    scene.order(change=change)
    yield
    scene.edit("shop.yaml", "      - artwork\n", f"      - artwork\n      - {elsewhere}\n")
    scene.order(change=change)


@provokes("artwork.scheme", "add a row for its share, drive or address to artwork_paths")
def test_artwork_named_as_another_machine_sees_it(scene: Scene) -> Steps:
    art = scene.folder / "artwork"
    (art / "a.pdf").write_bytes(artwork(BANNER))
    change = replaced((ART, r'URL="\\nas\art\a.pdf"'))
    scene.order(change=change)
    yield
    row = r"    artwork_paths: [{mis: '\\nas\art', here: artwork}]"
    scene.edit("shop.yaml", "    watch:", f"{row}\n    watch:")
    scene.order(change=change)


@provokes("artwork.unreadable", "Give the bridge's account the right to read it")
def test_artwork_that_cannot_be_read(scene: Scene) -> Steps:
    name = scene.bench.drop(BANNER)
    art = scene.drop_folder() / "art" / f"{BANNER.job_id}.pdf"
    art.unlink()
    art.mkdir()  # root may read every file, so something that is none lies here
    scene.take(name)
    yield
    art.rmdir()
    scene.order()


# Order lines


def _csv(scene: Scene, *lines: str, name: str = "lines.csv", headings: str = COUNTER_HEADINGS) -> str:
    return scene.drop(name, "\n".join([headings, *lines]), at="counter")


@pytest.fixture(autouse=True)
def art_of_the_lines(scene: Scene) -> None:
    """The artwork of the lines that follow."""
    for job_id in ("C-1", "C-2"):
        (scene.drop_folder("counter") / f"{job_id}.pdf").write_bytes(artwork(BANNER))


LINE, OTHER = counter_line("C-1"), counter_line("C-2")


@provokes("csv.too-large", "Split it into several files")
def test_more_lines_than_are_read(scene: Scene) -> Steps:
    scene.edit("shop.yaml", "  ticket_bytes:", "  lines_per_file: 1\n  ticket_bytes:")
    _csv(scene, LINE, OTHER)
    yield
    _csv(scene, LINE, name="one.csv")
    _csv(scene, OTHER, name="two.csv")


@provokes("csv.encoding", "Let the sender write it as utf-8, or change reads.encoding")
def test_lines_in_another_encoding(scene: Scene) -> Steps:
    data = "\n".join([COUNTER_HEADINGS, LINE.replace("Tidewatch", "Überwatch")]).encode("cp1252")
    scene.drop("lines.csv", data, at="counter")
    yield
    scene.edit("mappings/counter.yaml", "encoding: utf-8", "encoding: windows-1252")
    scene.drop("lines.csv", data, at="counter")


@provokes("csv.nul", "a file in UTF-16 must be saved anew")
def test_lines_with_zero_bytes(scene: Scene) -> Steps:
    scene.drop("lines.csv", f"{COUNTER_HEADINGS}\n{LINE}".encode("utf-16-le"), at="counter")
    yield
    _csv(scene, LINE)


@provokes("csv.empty", "Send it again with its lines")
def test_headings_alone(scene: Scene) -> Steps:
    _csv(scene)
    yield
    _csv(scene, LINE)


@provokes("csv.separator", "or change reads.separator of the mapping")
def test_a_file_that_says_another_separator(scene: Scene) -> Steps:
    text = "\n".join(["sep=,", *(line.replace(";", ",") for line in (COUNTER_HEADINGS, LINE))])
    scene.drop("lines.csv", text, at="counter")
    yield
    scene.edit("mappings/counter.yaml", "separator: semicolon", "separator: comma")
    scene.edit("mappings/counter.yaml", "decimal_sign: comma", "decimal_sign: point")
    scene.drop("lines.csv", text, at="counter")


@provokes("csv.heading-missing", "or correct reads.fields of the mapping")
def test_a_heading_that_is_missing(scene: Scene) -> Steps:
    headings = COUNTER_HEADINGS.replace("Pieces", "Copies")
    _csv(scene, LINE, headings=headings)
    yield
    scene.edit("mappings/counter.yaml", "at: Pieces", "at: Copies")
    _csv(scene, LINE, headings=headings)


@provokes("csv.heading-twice", "Give each its own heading")
def test_a_heading_that_is_there_twice(scene: Scene) -> Steps:
    _csv(scene, f"{LINE};", headings=f"{COUNTER_HEADINGS};Pieces")
    yield
    _csv(scene, f"{LINE};", headings=f"{COUNTER_HEADINGS};Pieces delivered")


@provokes("csv.heading-again", "Take the line out")
def test_headings_between_the_lines(scene: Scene) -> Steps:
    _csv(scene, LINE, COUNTER_HEADINGS, OTHER)
    yield
    _csv(scene, LINE, OTHER)


@provokes("csv.quotes", "double the quotes in it")
def test_quotes_inside_a_cell(scene: Scene) -> Steps:
    _csv(scene, LINE.replace(";Banner;", ';24" banner;'))
    yield
    _csv(scene, LINE.replace(";Banner;", ';"24"" banner";'))


@provokes("csv.ragged", "Look for a separator inside a cell without quotes")
def test_a_line_with_a_cell_too_many(scene: Scene) -> Steps:
    _csv(scene, LINE.replace("Tidewatch Museum", "Tidewatch; Museum"))
    yield
    _csv(scene, LINE.replace("Tidewatch Museum", '"Tidewatch; Museum"'))


@provokes("csv.ragged-unnamed", "Correct the line")
def test_a_line_with_a_cell_too_many_that_may_be_any_order_s(scene: Scene) -> Steps:
    headings = f"Desk;{COUNTER_HEADINGS}"
    _csv(scene, f"1;{LINE};", f"1;{OTHER}", headings=headings)
    yield
    _csv(scene, f"1;{LINE}", f"1;{OTHER}", headings=headings)


@provokes("csv.no-order", "Give it the number of its order")
def test_a_line_of_no_order(scene: Scene) -> Steps:
    _csv(scene, LINE, OTHER.replace("C-2;", ";", 1))
    yield
    _csv(scene, LINE, OTHER)


@provokes("csv.value", "Correct the cell")
def test_a_cell_that_is_no_number(scene: Scene) -> Steps:
    _csv(scene, counter_line("C-1", width_cm="1.000,5"))
    yield
    _csv(scene, counter_line("C-1", width_cm="100,5"))


@provokes("csv.lines-disagree", "give the second one an order number of its own")
def test_lines_of_one_order_that_disagree(scene: Scene) -> Steps:
    second = LINE.replace("Tidewatch Museum", "Saltmarsh Gallery")
    _csv(scene, LINE, second)
    yield
    _csv(scene, LINE, second.replace("C-1;", "C-2;", 1))


@provokes("order.others-refused", "Correct the others and drop the file again")
def test_a_good_order_beside_a_bad_one(scene: Scene) -> Steps:
    scene.edit("shop.yaml", "bad_lines: take the good", "bad_lines: take none")
    _csv(scene, LINE, counter_line("C-2", pieces="1,5"))
    yield
    _csv(scene, LINE, OTHER)


# Artwork alone


def _pdf(scene: Scene, data: bytes, name: str = PDF_NAME) -> str:
    return scene.drop(name, data, at="pdf-drop")


@provokes("pdf.no-standing-ticket", "have the administrator give the source a standing_ticket")
def test_artwork_alone_where_it_is_no_order(scene: Scene) -> Steps:
    path = scene.folder.parent / PDF_NAME
    path.write_bytes(pdf(PAGE))
    scene.explain_file(path, options="--source mis")
    yield
    scene.edit(
        "shop.yaml",
        "    artwork_roots:",
        "    standing_ticket: {stock_brand: Harbour Banner 510}\n    artwork_roots:",
    )
    scene.explain_file(path, options="--source mis")


@provokes("pdf.damaged", "Write it anew")
def test_a_damaged_pdf(scene: Scene) -> Steps:
    _pdf(scene, pdf(PAGE)[:120])
    yield
    _pdf(scene, pdf(PAGE))


@provokes("pdf.encrypted", "without a password")
def test_a_pdf_that_wants_a_password(scene: Scene) -> Steps:
    import pikepdf

    plain, closed = scene.folder.parent / "plain.pdf", scene.folder.parent / "closed.pdf"
    plain.write_bytes(pdf(PAGE))
    with pikepdf.open(plain) as document:
        document.save(closed, encryption=pikepdf.Encryption(owner="o", user="u"))
    _pdf(scene, closed.read_bytes())
    yield
    _pdf(scene, plain.read_bytes())


@provokes("pdf.too-much", "Write it anew from the program that made it")
def test_a_pdf_that_takes_too_long(scene: Scene, monkeypatch: pytest.MonkeyPatch) -> Steps:
    monkeypatch.setattr("ticketbridge.accept.pdf_facts.WALL_S", 0.001)  # no sound file is so quick
    _pdf(scene, pdf(PAGE))
    yield
    monkeypatch.undo()
    _pdf(scene, pdf(PAGE))


@provokes("pdf.pages", "Split it into several files")
def test_a_pdf_of_too_many_pages(scene: Scene) -> Steps:
    _pdf(scene, pdf(*[PAGE] * 101))
    yield
    _pdf(scene, pdf(*[PAGE] * 51), "HL-7_1x_first.pdf")
    _pdf(scene, pdf(*[PAGE] * 50), "HL-8_1x_second.pdf")


@provokes("pdf.no-size", "Set the TrimBox of the page")
def test_a_page_without_a_size(scene: Scene) -> Steps:
    _pdf(scene, pdf(f"{PAGE} /TrimBox [800 0 900 100]"))
    yield
    _pdf(scene, pdf(f"{PAGE} /TrimBox [0 0 720 360]"))


@provokes("pdf.name-long", "Give it a shorter name")
def test_a_name_that_is_too_long(scene: Scene) -> Steps:
    _pdf(scene, pdf(PAGE), f"HL-7_3x_{'a' * 150}.pdf")
    yield
    _pdf(scene, pdf(PAGE))


@provokes("pdf.name-unfit", "Name it so")
def test_a_name_of_another_form(scene: Scene) -> Steps:
    _pdf(scene, pdf(PAGE), "banner.pdf")
    yield
    _pdf(scene, pdf(PAGE))


@provokes("pdf.name-number", "Correct the name")
def test_a_quantity_in_the_name_that_is_none(scene: Scene) -> Steps:
    scene.edit("shop.yaml", r"(?P<quantity>\d{1,4})", "(?P<quantity>[^_]+)")
    _pdf(scene, pdf(PAGE), "HL-7_somex_Fair banner.pdf")
    yield
    _pdf(scene, pdf(PAGE))


@provokes("pdf.active-content", "Printing needs none of it")
def test_a_pdf_that_carries_a_script(scene: Scene) -> Steps:
    assert _pdf(scene, pdf(PAGE, root="/OpenAction << /S /JavaScript /JS (x) >>")) == "artwork"
    yield
    _pdf(scene, pdf(PAGE), "HL-8_3x_Fair banner.pdf")


@provokes("pdf.box-clipped", "Compare the size with what was ordered")
def test_a_trim_box_beyond_the_page(scene: Scene) -> Steps:
    assert _pdf(scene, pdf(f"{PAGE} /TrimBox [-72 0 720 360]")) == "artwork"
    yield
    _pdf(scene, pdf(f"{PAGE} /TrimBox [0 0 720 360]"), "HL-8_3x_Fair banner.pdf")


@provokes("pdf.bleed-short", "ask for artwork with bleed")
def test_less_bleed_than_is_printed(scene: Scene) -> Steps:
    scene.edit("shop.yaml", "# bleed_mm: 5", "bleed_mm: 5")
    assert _pdf(scene, pdf(PAGE)) == "artwork"
    yield
    _pdf(scene, pdf(f"{PAGE} /TrimBox [36 36 684 324] /BleedBox [0 0 720 360]"), "HL-8_3x_Fair banner.pdf")

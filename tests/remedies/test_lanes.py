"""What the rules of a lane answer to ``explain``; then as the remedy wants it.

Each case looks at the verdicts of one lane, as the others may well say the same.
"""

import json
import shutil
from collections.abc import Iterator
from dataclasses import replace

from tests.remedies.changes import AGAIN, BANNER, BOARD, CANVAS, MESH, SILVER, WIDE, WINDOW, with_white
from tests.remedies.provokes import provokes
from tests.remedies.scene import Change, Scene
from ticketbridge.demo.orders import COLOURS

Steps = Iterator[None]
A, B, W = "HL-P1-A", "HL-P1-B", "HL-P2-W"
VINYL = replace(
    BANNER, stock_brand="Harbour Vinyl White", width_mm=1000, job_id="HL-9", file_name="vinyl.jdf"
)
EVERY_DAY = "[Monday, Tuesday, Wednesday, Thursday, Friday, Saturday, Sunday]"


def _on_shift(scene: Scene, *people: str) -> None:
    """These are there, on any day at any hour."""
    halves = (("00:00", "12:00"), ("12:00", "00:00"))
    who = ", ".join(people)
    rows = [
        f'  - {{people: [{who}], days: {EVERY_DAY}, begins: "{begins}", ends: "{ends}"}}\n'
        for begins, ends in halves
    ]
    text = (scene.folder / "shop.yaml").read_text().partition("\nshifts:\n")[0]
    (scene.folder / "shop.yaml").write_text(f"{text}\nshifts:\n{''.join(rows)}")
    scene.stop()


# Good news, about which there is nothing to do


@provokes(
    "lanes.substrate-ok",
    also=(
        "lanes.roll-fed-ok",
        "lanes.thickness-ok",
        "lanes.layers-ok",
        "lanes.ink-unknown",
        "lanes.underlay-not-needed",
        "lanes.width-ok",
        "lanes.length-ok",
        "lanes.beside-nothing-ok",
        "lanes.shaft-separate-ok",
        "lanes.mode-idle-ok",
        "lanes.due-ok",
        "lanes.crew-unknown",
    ),
)
def test_a_banner_on_a_lane_that_has_its_roll(scene: Scene) -> Steps:
    scene.explain(BANNER, A)
    yield


@provokes("lanes.ink-ok")
def test_ink_of_which_an_account_is_kept(scene: Scene) -> Steps:
    scene.edit("presses.yaml", "    channels: [Cyan", "    ink_left_ml: {Cyan: 5000}\n    channels: [Cyan")
    scene.explain(BANNER, A)
    yield


@provokes("lanes.underlay-ok")
def test_the_underlay_in_its_place(scene: Scene) -> Steps:
    scene.edit("presses.yaml", "in_place: false", "in_place: true")
    scene.explain(MESH, A)
    yield


@provokes("lanes.width-turned")
def test_a_piece_that_is_turned(scene: Scene) -> Steps:
    scene.explain(replace(BANNER, width_mm=1700, height_mm=700), A)
    yield


@provokes("lanes.width-panels")
def test_a_piece_in_panels(scene: Scene) -> Steps:
    scene.explain(replace(BANNER, width_mm=3000, height_mm=2000), A)
    yield


@provokes("lanes.beside-ok")
def test_two_customers_side_by_side(scene: Scene) -> Steps:
    scene.order(BANNER)
    scene.explain(CANVAS, B)
    yield


@provokes("lanes.shaft-ok")
def test_rolls_of_like_diameter_on_one_shaft(scene: Scene) -> Steps:
    scene.edit("presses.yaml", "shafts: separate", "shafts: common")
    scene.edit("presses.yaml", "diameter_tolerance_mm: 30", "diameter_tolerance_mm: 100")
    scene.explain(BANNER, A)
    yield


@provokes("lanes.mode-ok")
def test_a_lane_that_prints_in_the_mode_already(scene: Scene) -> Steps:
    scene.order(BANNER)
    scene.explain(AGAIN, A)
    yield


@provokes("lanes.due-open-ok")
def test_an_order_without_a_time(scene: Scene) -> Steps:
    scene.explain(BANNER, A, lambda data: data.replace(b' LastEnd="2099-12-31T12:00:00+00:00"', b""))
    yield


@provokes("lanes.crew-ok")
def test_somebody_trained_on_the_press_is_there(scene: Scene) -> Steps:
    _on_shift(scene, "op-03")
    scene.explain(BANNER, A)
    yield


# What the catalogue has lost since a job came


def _job_that_waits_for_a_roll(scene: Scene) -> None:
    """A job of a substrate of which there is no roll."""
    scene.edit(
        "stock.yaml", "  - {substrate: VINYL-WHITE, lot: V-5120, width_mm: 1372, length_left_m: 50}\n", ""
    )
    assert scene.order(VINYL) == "accepted"
    scene.heard.clear()


def _shown(scene: Scene) -> None:
    """``ticketbridge jobs show``: the verdicts of the job, as they stand now."""
    assert scene.bridge
    told = json.loads(scene.run("jobs show --json Q000001").stdout)
    scene.hear_verdicts(verdict for lane, verdicts in told["lanes"] if lane == A for verdict in verdicts)
    scene.well = True


def _without_vinyl(scene: Scene) -> tuple[tuple[str, str, str], ...]:
    text = (scene.folder / "substrates.yaml").read_text()
    start = text.index("  - id: VINYL-WHITE")
    rows = [
        line
        for line in (scene.folder / "mappings/mis.yaml").read_text().splitlines(True)
        if "VINYL-WHITE" in line
    ]
    return (
        ("substrates.yaml", text[start : text.index("  # Metallised")], ""),
        *(("mappings/mis.yaml", row, "") for row in rows),
    )


@provokes("lanes.substrate-unknown", "Add it to the catalogue")
def test_a_substrate_that_the_catalogue_has_lost(scene: Scene) -> Steps:
    _job_that_waits_for_a_roll(scene)
    for change in _without_vinyl(scene):
        scene.edit(*change)
    _shown(scene)
    yield
    scene.restore("substrates.yaml")
    _shown(scene)


@provokes("lanes.substrate-needed", "Add the substrate to the catalogue")
def test_rules_that_cannot_speak_without_the_substrate(scene: Scene) -> Steps:
    _job_that_waits_for_a_roll(scene)
    for change in _without_vinyl(scene):
        scene.edit(*change)
    _shown(scene)
    yield
    scene.restore("substrates.yaml")
    _shown(scene)


FINE = "  - id: fine-8"


@provokes("lanes.mode-unknown", "Add the print mode")
def test_a_print_mode_that_the_catalogue_has_lost(scene: Scene) -> Steps:
    _job_that_waits_for_a_roll(scene)
    for file in ("substrates.yaml", "mappings/mis.yaml", "print-modes.yaml"):
        text = (scene.folder / file).read_text()
        (scene.folder / file).write_text(text.replace("fine-8", "finer-9"))
    scene.stop()
    _shown(scene)
    yield
    for file in ("substrates.yaml", "mappings/mis.yaml", "print-modes.yaml"):
        scene.restore(file)
    _shown(scene)


@provokes("lanes.mode-not-allowed", "or allow this one on the substrate")
def test_a_print_mode_that_is_no_longer_allowed(scene: Scene) -> Steps:
    _job_that_waits_for_a_roll(scene)
    before, _, vinyl = (scene.folder / "substrates.yaml").read_text().partition("  - id: VINYL-WHITE")
    (scene.folder / "substrates.yaml").write_text(
        f"{before}  - id: VINYL-WHITE{vinyl.replace('[fine-8, banner-6]', '[banner-6]', 1)}"
    )
    scene.stop()
    _shown(scene)
    yield
    scene.restore("substrates.yaml")
    _shown(scene)


@provokes("lanes.stack-not-offered", "Map the order to a print mode that offers them")
def test_layers_that_the_mode_no_longer_offers(scene: Scene) -> Steps:
    scene.edit(
        "stock.yaml", "  - {substrate: METAL-SILVER, lot: S-0009, width_mm: 1372, length_left_m: 30}\n", ""
    )
    assert scene.order(SILVER) == "accepted"
    scene.heard.clear()
    row = '  - {layer_stack: "white, colour", print_mode: white-8}\n'
    scene.edit("mappings/mis.yaml", row, "")
    scene.edit("print-modes.yaml", '["white, colour", "colour, white"]', '["colour, white"]')
    _shown(scene)
    yield
    scene.edit("print-modes.yaml", '["colour, white, colour"]', '["colour, white, colour", "white, colour"]')
    scene.edit(
        "mappings/mis.yaml", "print_modes:\n", f"print_modes:\n{row.replace('white-8', 'day-night-12')}"
    )
    scene.edit(
        "substrates.yaml",
        "metallic: true\n    print_modes: [",
        "metallic: true\n    print_modes: [day-night-12, ",
    )
    scene.explain(replace(SILVER, job_id="HL-9"), A)


# What is printed on, and with what


@provokes("lanes.rigid", "or choose a flexible substrate")
def test_rigid_board(scene: Scene) -> Steps:
    scene.explain(BOARD, A)
    yield
    scene.explain(replace(BOARD, stock_brand="Harbour Vinyl White"), A)


@provokes("route.no-lane", "The reasons follow, lane by lane")
def test_an_order_that_no_lane_can_print(scene: Scene) -> Steps:
    scene.order(BOARD)
    yield
    scene.order(replace(BOARD, stock_brand="Harbour Vinyl White"))


@provokes("lanes.thickness-out", "Use another press or another substrate")
def test_a_substrate_too_thick_for_the_carriage(scene: Scene) -> Steps:
    scene.edit("presses.yaml", "{min: 80, max: 1500}", "{min: 80, max: 400}")
    scene.explain(BANNER, A)
    yield
    scene.explain(BANNER, W)


@provokes("lanes.channel-not-fitted", "or order it without")
def test_white_on_a_press_without_white(scene: Scene) -> Steps:
    scene.explain(WINDOW, W)
    yield
    scene.explain(WINDOW, A)
    scene.explain(replace(WINDOW, separations=COLOURS, layer_stack=None), W)


@provokes("lanes.without-white", "Ask the customer whether that is meant")
def test_clear_film_without_white(scene: Scene) -> Steps:
    clear = replace(WINDOW, separations=COLOURS, layer_stack=None)
    scene.explain(clear, A)
    yield
    scene.explain(with_white(WINDOW), A)  # the customer meant white


@provokes("lanes.white-required", "by refuse_without_white: false")
def test_clear_film_without_white_on_a_press_that_wants_it(scene: Scene) -> Steps:
    scene.edit("presses.yaml", "refuse_without_white: false", "refuse_without_white: true")
    clear = replace(WINDOW, separations=COLOURS, layer_stack=None)
    scene.explain(clear, A)
    yield
    scene.explain(with_white(WINDOW), A)
    scene.edit("presses.yaml", "refuse_without_white: true", "refuse_without_white: false")
    scene.explain(clear, A)


@provokes("lanes.ink-short", "Change the ink, then correct ink_left_ml of the press")
def test_ink_that_does_not_last(scene: Scene) -> Steps:
    scene.edit("presses.yaml", "    channels: [Cyan", "    ink_left_ml: {Cyan: 1}\n    channels: [Cyan")
    scene.explain(BANNER, A)
    yield
    scene.edit("presses.yaml", "ink_left_ml: {Cyan: 1}", "ink_left_ml: {Cyan: 5000}")
    scene.explain(BANNER, A)


@provokes("lanes.underlay-change", "Put the underlay in")
def test_mesh_without_the_underlay_in_place(scene: Scene) -> Steps:
    scene.explain(MESH, A)
    yield
    scene.edit("presses.yaml", "in_place: false", "in_place: true")
    scene.explain(MESH, A)


@provokes("lanes.underlay-not-fitted", "Use a press with an underlay")
def test_mesh_on_a_press_that_has_no_underlay(scene: Scene) -> Steps:
    scene.edit("presses.yaml", "{fitted: true, in_place: false, lanes: [A]}", "{fitted: false}")
    scene.explain(MESH, A)
    yield
    scene.explain(MESH, W)


@provokes("lanes.underlay-not-here", "Use a lane that the underlay serves")
def test_mesh_on_a_lane_that_the_underlay_does_not_reach(scene: Scene) -> Steps:
    scene.explain(MESH, B)
    yield
    scene.explain(MESH, A)


# Room


@provokes("lanes.too-wide", "or allow panels")
def test_a_piece_too_wide_either_way(scene: Scene) -> Steps:
    big = replace(BANNER, width_mm=2000, height_mm=2000, panels="forbidden")
    scene.explain(big, A)
    yield
    scene.explain(big, W)
    scene.explain(replace(big, panels="allowed"), A)


@provokes("lanes.too-wide-upright", "Allow the piece to be turned")
def test_a_piece_that_may_not_be_turned(scene: Scene) -> Steps:
    big = replace(BANNER, width_mm=2000, height_mm=1000, panels="forbidden")
    scene.explain(
        big, A, lambda data: data.replace(b"<LayoutIntent ", b'<LayoutIntent RotatePolicy="NoRotate" ')
    )
    yield
    scene.explain(big, A)


@provokes("lanes.too-large", "a wrong unit or a lost decimal point is likely")
def test_a_piece_larger_than_any_roll(scene: Scene) -> Steps:
    scene.explain(replace(BANNER, width_mm=1_100_000, height_mm=1700), A)
    yield
    scene.explain(replace(BANNER, width_mm=2000, height_mm=1700), A)


@provokes("lanes.overlap-too-wide", "Make the overlap smaller")
def test_panels_that_overlap_by_more_than_the_roll(scene: Scene) -> Steps:
    scene.edit("mappings/mis.yaml", "panel_overlap_mm: 20", "panel_overlap_mm: 1600")
    big = replace(BANNER, width_mm=3000, height_mm=2000)
    scene.explain(big, A)
    yield
    scene.edit("mappings/mis.yaml", "panel_overlap_mm: 1600", "panel_overlap_mm: 20")
    scene.explain(big, A)


@provokes("lanes.no-place-for-seams", "or use a wider lane or roll")
def test_seams_that_may_be_nowhere(scene: Scene) -> Steps:
    def kept_free(to_pt: int) -> Change:
        own = f'tb:KeepSeamsFrom="0 {to_pt}"'
        return lambda data: data.replace(b"<LayoutIntent ", f"<LayoutIntent {own} ".encode())

    big = replace(BANNER, width_mm=3000, height_mm=2000)
    scene.explain(big, A, kept_free(8503))
    yield
    scene.explain(big, A, kept_free(1000))
    scene.explain(big, W, kept_free(8503))


@provokes("lanes.too-many-placements", "Split the order")
def test_more_pieces_than_one_job_may_have(scene: Scene) -> Steps:
    many = replace(BANNER, quantity=10_000, width_mm=4000, height_mm=2000)
    scene.explain(many, A)
    yield
    scene.explain(replace(many, quantity=1000), A)


@provokes("lanes.no-width-for-lane", "or add a narrower roll to the catalogue")
def test_a_substrate_that_is_bought_wide_only(scene: Scene) -> Steps:
    scene.edit("substrates.yaml", "widths_mm: [1067, 1524, 1600]", "widths_mm: [1800]")
    scene.command(f"rolls unload --lane {B} --gone")
    scene.explain(CANVAS, A)
    yield
    scene.explain(CANVAS, W)
    scene.edit("substrates.yaml", "widths_mm: [1800]", "widths_mm: [1524, 1800]")
    scene.explain(CANVAS, A)


@provokes("lanes.layout-needed", "See what the other rules say")
def test_rules_that_cannot_speak_without_a_layout(scene: Scene) -> Steps:
    big = replace(BANNER, width_mm=2000, height_mm=2000, panels="forbidden")
    scene.explain(big, A)
    assert "lanes.too-wide" in scene.codes
    yield
    scene.explain(replace(big, panels="allowed"), A)


# Rolls


@provokes("lanes.roll-load", "Load roll B510-2207")
def test_an_empty_lane(scene: Scene) -> Steps:
    scene.command(f"rolls unload --lane {A}")
    scene.explain(BANNER, A)
    yield
    scene.command(f"rolls load B510-2207 --lane {A}")
    scene.explain(BANNER, A)


@provokes("lanes.roll-change", "Change to roll V-5120")
def test_a_lane_with_another_substrate(scene: Scene) -> Steps:
    scene.explain(VINYL, A)
    yield
    scene.command(f"rolls change V-5120 --lane {A}")
    scene.explain(VINYL, A)


@provokes("lanes.roll-unsuited", "Change to roll B510-2208")
def test_a_remnant_that_does_not_hold_enough(scene: Scene) -> Steps:
    scene.command("rolls receive BAN510 REST 1600 3")
    scene.command(f"rolls unload --lane {A} --gone")
    scene.command(f"rolls load REST --lane {A}")
    scene.explain(BANNER, A)
    yield
    scene.command(f"rolls change B510-2208 --lane {A}")
    scene.explain(BANNER, A)


@provokes("lanes.roll-missing", "book in the roll")
def test_a_substrate_of_which_there_is_no_roll(scene: Scene) -> Steps:
    scene.edit(
        "stock.yaml", "  - {substrate: VINYL-WHITE, lot: V-5120, width_mm: 1372, length_left_m: 50}\n", ""
    )
    scene.explain(VINYL, A)
    yield
    scene.command("rolls receive VINYL-WHITE V-6000 1372 50")
    scene.explain(VINYL, A)


def _short_vinyl(scene: Scene) -> None:
    scene.edit(
        "stock.yaml",
        "lot: V-5120, width_mm: 1372, length_left_m: 50",
        "lot: V-5120, width_mm: 1372, length_left_m: 4",
    )


@provokes("lanes.length-short", "book in a longer roll, or split the quantity")
def test_rolls_that_are_all_too_short(scene: Scene) -> Steps:
    _short_vinyl(scene)
    scene.explain(VINYL, A)
    yield
    scene.explain(replace(VINYL, quantity=1), A)
    scene.command("rolls receive VINYL-WHITE V-6000 1372 50")
    scene.explain(VINYL, A)


@provokes("lanes.length-beyond-a-roll", "Split the quantity over several orders")
def test_more_than_a_full_roll(scene: Scene) -> Steps:
    scene.explain(replace(VINYL, quantity=40), A)
    yield
    scene.explain(replace(VINYL, quantity=20), A)


# What runs beside it


def _beside_works_when_done(scene: Scene, *look: object) -> None:
    scene.print_all()
    scene.explain(*look)  # type: ignore[arg-type]


WIDE_LANE = """\
      - id: AB
        name: Press 1, one wide roll
        device_id: HL-P1-AB
        width_mm: 3300
        folder: lanes/HL-P1-AB

  - id: P2
"""


def _wide_lane_across_both(scene: Scene) -> None:
    scene.edit("presses.yaml", "\n  - id: P2\n", WIDE_LANE)
    shutil.copytree(scene.folder / "lanes/HL-P2-W", scene.folder / "lanes/HL-P1-AB")


@provokes("lanes.beside-overlap", "or use another lane")
def test_a_lane_across_one_that_prints(scene: Scene) -> Steps:
    _wide_lane_across_both(scene)
    scene.order(BANNER)
    scene.explain(WIDE, "HL-P1-AB")
    yield
    scene.explain(WIDE, W)
    _beside_works_when_done(scene, WIDE, "HL-P1-AB")


@provokes("lanes.beside-roll-off", "Take the roll off")
def test_a_lane_across_one_that_has_a_roll(scene: Scene) -> Steps:
    _wide_lane_across_both(scene)
    scene.explain(WIDE, "HL-P1-AB")
    yield
    scene.command(f"rolls unload --lane {A}")
    scene.command(f"rolls unload --lane {B}")
    scene.explain(WIDE, "HL-P1-AB")


@provokes("lanes.beside-mode", "or use another press")
def test_another_mode_beside_it(scene: Scene) -> Steps:
    scene.order(BANNER)
    look = replace(CANVAS, print_preference="HighestQuality")
    scene.explain(look, B)
    yield
    scene.explain(look, W)
    _beside_works_when_done(scene, look, B)


@provokes("lanes.beside-layers", "or use another press")
def test_other_layers_beside_it(scene: Scene) -> Steps:
    scene.order(with_white(WINDOW, "White Color"))
    look = replace(with_white(WINDOW, "Color White"), job_id="HL-9")
    scene.explain(look, _other_lane(scene))
    yield
    _beside_works_when_done(scene, look, B)


def _other_lane(scene: Scene) -> str:
    [job] = scene.jobs()
    assert job.given
    return B if job.device_id == A else A


@provokes("lanes.beside-thickness", "or use another press")
def test_a_much_thinner_substrate_beside_it(scene: Scene) -> Steps:
    scene.order(BANNER)
    flag = replace(BANNER, stock_brand="Harbour Flag 115", job_id="HL-9")
    scene.explain(flag, B)
    yield
    scene.explain(flag, W)
    scene.edit(
        "presses.yaml",
        "underlay: {fitted: true, in_place: false, lanes: [A]}",
        "underlay: {fitted: true, in_place: false, lanes: [A, B]}",
    )
    _beside_works_when_done(scene, flag, B)


@provokes("lanes.beside-underlay", "or use another press")
def test_one_that_needs_the_underlay_beside_one_that_does_not(scene: Scene) -> Steps:
    scene.edit("presses.yaml", "thickness_tolerance_um: 60", "thickness_tolerance_um: 200")
    scene.edit("presses.yaml", "in_place: false, lanes: [A]", "in_place: false, lanes: [A, B]")
    scene.order(BANNER)
    scene.explain(MESH, B)
    yield
    scene.explain(MESH, W)
    _beside_works_when_done(scene, MESH, B)


@provokes("lanes.beside-width", "or load a narrower roll")
def test_rolls_too_wide_to_lie_beside_each_other(scene: Scene) -> Steps:
    scene.edit("presses.yaml", "gap_mm: 50, diameter", "gap_mm: 150, diameter")
    scene.order(BANNER)
    scene.explain(CANVAS, B)
    yield
    scene.command("rolls receive CANVAS380 NARROW 1524 30")
    scene.command(f"rolls change NARROW --lane {B}")
    scene.explain(CANVAS, B)


@provokes("lanes.beside-unknown", "Add the substrate to the catalogue, or wait")
def test_a_substrate_beside_it_that_the_catalogue_has_lost(scene: Scene) -> Steps:
    scene.order(CANVAS)
    _lose_canvas(scene)
    scene.explain(BANNER, A)
    yield
    scene.restore("substrates.yaml")
    scene.explain(BANNER, A)


def _lose_canvas(scene: Scene) -> None:
    """The catalogue no longer has the canvas, though a roll of it is on lane B."""
    text = (scene.folder / "substrates.yaml").read_text()
    start, end = text.index("  - id: CANVAS380"), text.index("  - id: FLAG115")
    (scene.folder / "substrates.yaml").write_text(text[:start] + text[end:])
    for file in ("mappings/mis.yaml", "presses.yaml"):
        lines = (scene.folder / file).read_text().splitlines(keepends=True)
        (scene.folder / file).write_text("".join(line for line in lines if "CANVAS380" not in line))
    scene.stop()


@provokes("lanes.shaft-unknown", "Compare the diameters by hand, and add the substrate to the catalogue")
def test_a_roll_on_the_shaft_of_which_nobody_knows_the_thickness(scene: Scene) -> Steps:
    scene.edit("presses.yaml", "shafts: separate", "shafts: common")
    assert scene.bridge
    _lose_canvas(scene)
    scene.explain(BANNER, A)
    yield
    scene.restore("substrates.yaml")
    scene.explain(BANNER, A)


@provokes("lanes.shaft-running", "or load a roll of like diameter")
def test_a_thinner_roll_on_the_shaft_prints(scene: Scene) -> Steps:
    scene.edit("presses.yaml", "shafts: separate", "shafts: common")
    scene.command(f"rolls unload --lane {A}")
    scene.order(CANVAS)
    scene.command(f"rolls load B510-2207 --lane {A}")
    scene.explain(BANNER, A)
    yield
    scene.command("rolls receive BAN510 LIKE 1600 30")
    scene.command(f"rolls change LIKE --lane {A}")
    scene.explain(BANNER, A)


@provokes("lanes.shaft-roll-off", "Take the roll on HL-P1-B off")
def test_a_thinner_roll_on_the_shaft(scene: Scene) -> Steps:
    scene.edit("presses.yaml", "shafts: separate", "shafts: common")
    scene.explain(BANNER, A)
    yield
    scene.command(f"rolls unload --lane {B}")
    scene.explain(BANNER, A)


@provokes("lanes.mode-change", "Nothing to do before the running job has ended")
def test_another_mode_after_what_runs(scene: Scene) -> Steps:
    scene.order(BANNER)
    look = replace(AGAIN, print_preference="Fastest")
    scene.explain(look, A)
    yield
    _beside_works_when_done(scene, look, A)


# The hour and the people


@provokes("lanes.due-late", "Raise its priority, use another lane, or tell the customer")
def test_an_order_that_comes_too_late(scene: Scene) -> Steps:
    def due(year: bytes) -> bytes:
        return year + b"-12-31T12:00:00+00:00"

    scene.explain(BANNER, A, lambda data: data.replace(due(b"2099"), due(b"2020")))
    yield
    scene.explain(BANNER, A)  # the customer was told, and gave it another date


@provokes("lanes.crew-thin", "Train a second person")
def test_one_person_trained_on_the_press(scene: Scene) -> Steps:
    scene.edit("presses.yaml", "crew: [op-03, op-07]", "crew: [op-03]")
    _on_shift(scene, "op-03")
    scene.explain(BANNER, A)
    yield
    scene.edit("presses.yaml", "crew: [op-03]", "crew: [op-03, op-07]")
    scene.explain(BANNER, A)


@provokes("lanes.crew-absent", "where one is there, correct shifts in shop.yaml")
def test_nobody_trained_on_the_press_is_there(scene: Scene) -> Steps:
    _on_shift(scene, "op-11")
    scene.explain(BANNER, A)
    yield
    _on_shift(scene, "op-11", "op-07")
    scene.explain(BANNER, A)

"""Tickets that the mapping cannot make an order of, or only a doubtful one; then as the remedy wants it."""

from collections.abc import Iterator
from dataclasses import replace

from tests.remedies.changes import (
    AGAIN,
    BANNER,
    SAMPLE_ROLL,
    WINDOW,
    how_to_print,
    replaced,
    with_white,
)
from tests.remedies.provokes import provokes
from tests.remedies.scene import Scene
from tests.unit.flow.bench import counter_line
from tests.unit.jdf.tickets import PROCESS
from ticketbridge.demo.orders import COLOURS

Steps = Iterator[None]
MAPPING = "mappings/mis.yaml"
SUBSTRATE = '<StockBrand DataType="StringSpan" Preferred="Harbour Banner 510"/>'


@provokes("mapping.value-missing", "Give it in the column")
def test_an_empty_cell(scene: Scene) -> Steps:
    scene.lines(counter_line("C-1", width_cm=""))
    yield
    scene.lines(counter_line("C-1"))


@provokes("mapping.value-unfit", "Correct the value in the ticket")
def test_a_size_below_nothing(scene: Scene) -> Steps:
    scene.lines(counter_line("C-1", width_cm="0"))
    yield
    scene.lines(counter_line("C-1"))


@provokes("mapping.part-twice", "a JobPartID of its own")
def test_two_items_of_one_name(scene: Scene) -> Steps:
    inner = PROCESS.replace('xmlns="http://www.CIP4.org/JDFSchema_1_1" ', "").replace(
        ' MediaUnit="Roll"', ' MediaUnit="Roll" ProductID="BAN510"'
    )

    def two(second_part: str) -> str:
        other = inner
        for name in ("n1", "rl", "dp", "m", "c"):
            other = other.replace(f'"{name}"', f'"{name}2"')
        other = other.replace('JobPartID="1"', f'JobPartID="{second_part}"')
        return f'<JDF xmlns="http://www.CIP4.org/JDFSchema_1_1" ID="r" Type="ProcessGroup" Status="Waiting" JobID="HG-3">{inner}{other}</JDF>'

    (scene.drop_folder() / "a.pdf").write_bytes(b"%PDF-1.7\n%%EOF\n")
    scene.drop("two.jdf", two("1"))
    yield
    scene.drop("two.jdf", two("2"))


@provokes("mapping.two-sided", "Order the second side as an item of its own")
def test_two_sides(scene: Scene) -> Steps:
    scene.order(change=replaced(('"OneSided"', '"TwoSidedHeadToHead"')))
    yield
    scene.order()
    scene.order(AGAIN)


@provokes("mapping.unprinted", "correct LayoutIntent@Sides")
def test_a_piece_that_is_not_printed(scene: Scene) -> Steps:
    scene.order(change=replaced(('"OneSided"', '"Unprinted"')))
    yield
    scene.order()


# The substrate


@provokes("mapping.substrate-unknown", "Add a row to the mapping's substrates")
def test_a_film_that_no_row_knows(scene: Scene) -> Steps:
    film = replace(BANNER, stock_brand="Moonbeam Film 9")
    scene.order(film)
    yield
    scene.edit(
        MAPPING, "substrates:\n", "substrates:\n  - {stock_brand: Moonbeam Film 9, substrate: BAN510}\n"
    )
    scene.order(film)


@provokes(
    "mapping.substrate-table-empty", "Write the mapping's substrates, or let the MIS send the substrate's id"
)
def test_a_mapping_without_substrates(scene: Scene) -> Steps:
    text = (scene.folder / MAPPING).read_text()
    before, _, rest = text.partition("substrates:\n")
    (scene.folder / MAPPING).write_text(before + "print_modes:\n" + rest.partition("print_modes:\n")[2])
    scene.order()
    yield
    scene.order(replace(BANNER, stock_brand="BAN510"))


@provokes("mapping.no-roll", "write MediaUnit Roll or PrintingType WebFed, or the id of a substrate")
def test_a_medium_that_may_be_a_sheet(scene: Scene) -> Steps:
    no_roll = (
        (
            SAMPLE_ROLL,
            SAMPLE_ROLL.replace(' MediaUnit="Roll"', "").replace(
                'ProductID="BAN510"', 'Brand="Harbour Banner 510"'
            ),
        ),
        (' PrintingType="WebFed"', ""),
    )
    how_to_print(scene, *no_roll)
    yield
    how_to_print(scene, no_roll[0])


@provokes("mapping.roll-width-differs", "that the sender counts in points")
def test_a_roll_width_that_the_shop_does_not_buy(scene: Scene) -> Steps:
    def of_width(number: str) -> tuple[str, str]:
        return (SAMPLE_ROLL, SAMPLE_ROLL.replace("/>", f' Dimension="{number} 0"/>'))

    assert how_to_print(scene, of_width("1600")) == "accepted"
    yield
    how_to_print(scene, of_width("4535.433"), ('JobID="HG-2"', 'JobID="HG-4"'))


@provokes("mapping.thickness-differs", "See that the right substrate is meant")
def test_a_thickness_that_the_substrate_does_not_have(scene: Scene) -> Steps:
    def accepting(least: int) -> tuple[str, str]:
        return (SUBSTRATE, f'{SUBSTRATE}<Thickness DataType="NumberSpan" Range="{least} ~ 600"/>')

    assert scene.order(change=replaced(accepting(550))) == "accepted"
    yield
    scene.order(AGAIN, replaced(accepting(450)))


@provokes("mapping.weight-differs", "See that the right substrate is meant")
def test_a_weight_that_the_substrate_does_not_have(scene: Scene) -> Steps:
    def accepting(most: int) -> tuple[str, str]:
        return (SUBSTRATE, f'{SUBSTRATE}<Weight DataType="NumberSpan" Range="400 ~ {most}"/>')

    assert scene.order(change=replaced(accepting(450))) == "accepted"
    yield
    scene.order(AGAIN, replaced(accepting(550)))


# The print mode and its layers


@provokes("mapping.layers-unknown", "first printed first")
def test_layers_that_nobody_knows(scene: Scene) -> Steps:
    scene.order(with_white(WINDOW, "White Color White"))
    yield
    scene.order(with_white(WINDOW, "White Color"))


@provokes("mapping.layers-both", "Order one of the two")
def test_white_and_clear_at_once(scene: Scene) -> Steps:
    scene.order(replace(WINDOW, layer_stack=None, separations=(*COLOURS, "White", "Clear")))
    yield
    scene.order(with_white(WINDOW))


@provokes("mapping.print-mode-unknown", "one without conditions takes what is left")
def test_a_substrate_that_no_row_gives_a_mode(scene: Scene) -> Steps:
    scene.edit(MAPPING, "  - {print_mode: fine-8}\n", "")
    vinyl = replace(BANNER, stock_brand="Harbour Vinyl White", width_mm=1000)
    scene.order(vinyl)
    yield
    scene.edit(
        MAPPING,
        "print_preference: Fastest, print_mode: fast-4}\n\n",
        "print_preference: Fastest, print_mode: fast-4}\n  - {print_mode: fine-8}\n\n",
    )
    scene.order(vinyl)


NAMED = ("<ResourcePool>", '<GeneralID IDUsage="PrintMode" IDValue="DayLight"/><ResourcePool>')


@provokes("mapping.print-mode-name-unknown", "or give a mode that named_feature")
def test_a_mode_named_as_no_press_knows_it(scene: Scene) -> Steps:
    assert how_to_print(scene, NAMED) == "accepted"
    yield
    scene.edit(
        "print-modes.yaml",
        "    name: Banner quality\n",
        "    name: Banner quality\n    named_feature: DayLight\n",
    )
    how_to_print(scene, NAMED, ('JobID="HG-2"', 'JobID="HG-4"'))


@provokes("mapping.mirror-not-served", "Ask for colour first and white on it")
def test_a_mirrored_image_with_white_under_it(scene: Scene) -> Steps:
    def mirrored(layers: str) -> tuple[tuple[str, str], ...]:
        params = (
            '<InterpretingParams ID="ip" Class="Parameter" Status="Available" MirrorAround="FeedDirection"/>'
        )
        link = '<ResourceLinkPool><InterpretingParamsLink rRef="ip" Usage="Input"/>'
        own = f'<DigitalPrintingParams xmlns:tb="tag:ticketbridge.example,2026:1" tb:LayerStack="{layers}" ID="dp"'
        return (
            ("<ResourcePool>", f"<ResourcePool>{params}"),
            ("<ResourceLinkPool>", link),
            ('<DigitalPrintingParams ID="dp"', own),
            ('ProductID="BAN510"', 'ProductID="WINDOW-CLEAR"'),
        )

    how_to_print(scene, *mirrored("White Color"))
    yield
    how_to_print(scene, *mirrored("Color White"))


@provokes("mapping.print-mode-not-allowed", "or allow the mode on the substrate")
def test_a_mode_that_is_not_allowed_on_the_substrate(scene: Scene) -> Steps:
    scene.edit(MAPPING, "{family: banner, print_mode: banner-6}", "{family: banner, print_mode: fine-8}")
    scene.order()
    yield
    scene.edit("substrates.yaml", "[fast-4, banner-6]", "[fast-4, banner-6, fine-8]")
    scene.order()


@provokes("mapping.layers-not-offered", "Give the layers a row of their own")
def test_layers_that_the_mode_does_not_offer(scene: Scene) -> Steps:
    row = '  - {layer_stack: "white, colour", print_mode: white-8}\n'
    scene.edit(MAPPING, row, "")
    scene.order(WINDOW)
    yield
    scene.edit(MAPPING, "print_modes:\n", f"print_modes:\n{row}")
    scene.order(WINDOW)

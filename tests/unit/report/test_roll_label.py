"""The label of a roll."""

from datetime import date

import pytest
from lxml import etree

from ticketbridge.decide.barcode import QUIET_MODULES, bars_of
from ticketbridge.report.roll_label import BarcodeTooWide, RollLabel, roll_label

SVG = "{http://www.w3.org/2000/svg}"
LABEL = RollLabel(
    substrate_id="BAN510",
    substrate_name="PVC banner <front-lit> & heavy",
    lot="B510-2207",
    roll_number=2,
    width_mm=1600,
    length_m=37.25,
    weight_kg=31.6,
    caution="Heavy. " * 40,
    on=date(2026, 11, 25),
)


def drawn(lot: str = "B510-2207") -> etree._Element:
    return etree.fromstring(roll_label(LABEL, bars_of(lot), QUIET_MODULES))


def test_a_label_is_a6_and_says_what_the_roll_is() -> None:
    root = drawn()
    texts = [text.text for text in root.iter(f"{SVG}text")]

    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("105mm", "148mm", "0 0 105 148")
    assert texts[:7] == [
        "BAN510",
        "PVC banner <front-lit> & heavy",
        "Lot B510-2207",
        "Roll 2 of this lot",
        "1600 mm wide",
        "37.2 m on 2026-11-25",
        "31.6 kg with core",
    ]
    assert texts[-1] == "B510-2207"


def test_the_bars_on_the_label_are_those_of_the_lot() -> None:
    black = [box for box in drawn().iter(f"{SVG}rect") if box.get("fill") == "black"]
    lefts, widths = ([float(box.get(name, "")) for box in black] for name in ("x", "width"))
    module = min(widths)
    read = [round(widths[0] / module)]
    for place in range(1, len(black)):
        read.append(round((lefts[place] - lefts[place - 1] - widths[place - 1]) / module))
        read.append(round(widths[place] / module))

    assert tuple(read) == bars_of("B510-2207")
    assert lefts[0] >= QUIET_MODULES * module
    assert lefts[-1] + widths[-1] <= 105 - QUIET_MODULES * module


def test_everything_lies_on_the_label() -> None:
    for text in drawn().iter(f"{SVG}text"):
        assert 0 < float(text.get("y", "")) <= 148
        assert float(text.get("x", "")) in (7, 52.5)


def test_a_lot_too_long_to_be_read_in_bars_is_refused() -> None:
    assert drawn("L" * 32) is not None
    with pytest.raises(BarcodeTooWide):
        drawn("L" * 40)

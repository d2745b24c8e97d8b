"""Code 128, judged by values printed elsewhere, by the shape of its symbols, and by a decoder of our own."""

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ticketbridge.decide.barcode import SYMBOLS, bars_of, values_of

texts = st.text(st.characters(min_codepoint=32, max_codepoint=126), max_size=40)


def decoded(bars: tuple[int, ...]) -> str:
    """What a reader makes of bars: symbols of six widths, start B, check by weights, stop of seven."""
    assert bars[-7:] == (2, 3, 3, 1, 1, 1, 2)
    symbols = ["".join(map(str, bars[at : at + 6])) for at in range(0, len(bars) - 7, 6)]
    start, *data, check = [SYMBOLS.index(symbol) for symbol in symbols]
    assert start == 104
    assert check == (start + sum(weight * value for weight, value in enumerate(data, 1))) % 103
    return "".join(chr(value + 32) for value in data)


@given(texts)
def test_what_is_encoded_is_read_back(text: str) -> None:
    assert decoded(bars_of(text)) == text


@given(texts)
def test_every_symbol_takes_eleven_modules_and_the_stop_thirteen(text: str) -> None:
    """ISO/IEC 15417: each symbol character has 11 modules, the stop character 13."""
    assert sum(bars_of(text)) == 11 * (len(text) + 2) + 13


def test_the_symbols_are_all_there_are_but_the_stop_read_backwards() -> None:
    """ISO/IEC 15417: three bars and three spaces of 1 to 4 modules, 11 in all, the bars' modules even in number."""
    possible = {
        "".join(map(str, widths))
        for widths in product(range(1, 5), repeat=6)
        if sum(widths) == 11 and sum(widths[::2]) % 2 == 0
    }
    stop, stop_backwards = SYMBOLS[-1][:6], SYMBOLS[-1][:0:-1]
    assert {*SYMBOLS[:-1], stop, stop_backwards} == possible
    assert len(SYMBOLS) == 107


def test_known_symbols_stand_at_their_values() -> None:
    """Published tables of Code 128: space, exclamation mark, zero, A, a, the starts A, B, C."""
    known = {0: "212222", 1: "222122", 16: "123122", 33: "111323", 65: "121124", 103: "211412", 104: "211214"}
    assert {value: SYMBOLS[value] for value in known} == known
    assert SYMBOLS[105] == "211232"


def test_a_known_text_has_its_known_check_value() -> None:
    """The much printed example PJJ123C: check value 54 with start A, hence 55 with start B, one higher."""
    assert values_of("PJJ123C") == (104, 48, 42, 42, 17, 18, 19, 35, 55, 106)


@pytest.mark.parametrize("text", ["é", "\n", "a\x7f"])
def test_what_code_set_b_lacks_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="printable ASCII"):
        bars_of(text)

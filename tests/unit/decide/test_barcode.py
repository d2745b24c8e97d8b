"""Code 128 B, read back by a decoder of the test's own."""

from functools import cache
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ticketbridge.decide.barcode import bars_of, values_of

printable = st.text(st.characters(min_codepoint=32, max_codepoint=126), min_size=1, max_size=60)
Symbol = tuple[int, ...]
STOP: Symbol = (2, 3, 3, 1, 1, 1, 2)


def symbols_of(widths: tuple[int, ...]) -> list[Symbol]:
    """The characters of a symbol but the stop, each of six widths over eleven modules, its bars even in sum."""
    assert widths[-7:] == STOP
    symbols = [widths[place : place + 6] for place in range(0, len(widths) - 7, 6)]
    assert all(sum(symbol) == 11 for symbol in symbols)
    assert all((symbol[0] + symbol[2] + symbol[4]) % 2 == 0 for symbol in symbols)
    return symbols


@cache
def learned() -> dict[Symbol, int]:
    """What each pattern means: characters from symbols of one, the other values from check characters."""
    found: dict[Symbol, int] = {symbols_of(bars_of("A"))[0]: 104}
    for code in range(32, 127):
        found[symbols_of(bars_of(chr(code)))[1]] = code - 32
    for one, two in product(range(95), repeat=2):
        check = (104 + one + 2 * two) % 103
        if check not in found.values():
            found[symbols_of(bars_of(chr(one + 32) + chr(two + 32)))[3]] = check
    return found


def decoded(widths: tuple[int, ...]) -> str:
    """Read a symbol as a reader does, and prove its check character."""
    start, *data, check = (learned()[symbol] for symbol in symbols_of(widths))
    assert start == 104
    assert check == (start + sum(place * value for place, value in enumerate(data, 1))) % 103
    return "".join(chr(value + 32) for value in data)


def test_no_two_characters_look_alike() -> None:
    assert sorted(learned().values()) == [*range(103), 104]


@given(printable)
def test_what_is_written_is_read(text: str) -> None:
    assert decoded(bars_of(text)) == text


def test_a_symbol_is_start_text_check_and_stop() -> None:
    # 11 modules each for start, text and check, 13 for the stop.
    assert sum(bars_of("B510-2207")) == 11 * (1 + 9 + 1) + 13


def test_the_check_character_of_a_text_added_up_by_hand() -> None:
    # 104 + 1x48 + 2x42 + 3x42 + 4x17 + 5x18 + 6x19 + 7x35 = 879, which leaves 55 when divided by 103.
    assert values_of("PJJ123C") == (104, 48, 42, 42, 17, 18, 19, 35, 55, 106)


@pytest.mark.parametrize("text", ["", "Gr\u00f6\u00dfe", "a\tb", "\x7f"])
def test_what_set_b_does_not_hold_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="printable ASCII"):
        bars_of(text)

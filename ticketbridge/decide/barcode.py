"""PURE: Code 128 as widths of bars and spaces (ISO/IEC 15417), code set B only.

Set B holds what queue entries and numbers are written in; the denser set C would save a centimetre on a
slug line that is as long as the piece is wide.
"""

from typing import Final

_START_B: Final = 104
_STOP: Final = 106
QUIET_MODULES: Final = 10
"""Blank modules that a reader needs on either side of the symbol."""

_MODULUS: Final = 103
_FIRST: Final = " "
_LAST: Final = "~"

_WIDTHS: Final = """
    212222 222122 222221 121223 121322 131222 122213 122312 132212 221213 221312 231212
    112232 122132 122231 113222 123122 123221 223211 221132 221231 213212 223112 312131
    311222 321122 321221 312212 322112 322211 212123 212321 232121 111323 131123 131321
    112313 132113 132311 211313 231113 231311 112133 112331 132131 113123 113321 133121
    313121 211331 231131 213113 213311 213131 311123 311321 331121 312113 312311 332111
    314111 221411 431111 111224 111422 121124 121421 141122 141221 112214 112412 122114
    122411 142112 142211 241211 221114 413111 241112 134111 111242 121142 121241 114212
    124112 124211 411212 421112 421211 212141 214121 412121 111143 111341 131141 114113
    114311 411113 411311 113141 114131 311141 411131 211412 211214 211232 2331112
"""

SYMBOLS: Final = tuple(_WIDTHS.split())
"""Widths of bar, space, bar, space, bar, space by value; the last, the stop, has one bar more."""


def values_of(text: str) -> tuple[int, ...]:
    """Start, one value a character, check value, stop.

    Raises:
        ValueError: A character that code set B does not have.
    """
    if not all(_FIRST <= letter <= _LAST for letter in text):
        raise ValueError(f"code set B has printable ASCII only, not all of {text!r}")
    data = [ord(letter) - ord(_FIRST) for letter in text]
    check = (_START_B + sum(place * value for place, value in enumerate(data, start=1))) % _MODULUS
    return (_START_B, *data, check, _STOP)


def bars_of(text: str) -> tuple[int, ...]:
    """Widths in modules, a bar first, then space and bar in turn; quiet zones are the drawer's.

    Raises:
        ValueError: A character that code set B does not have.
    """
    return tuple(int(width) for value in values_of(text) for width in SYMBOLS[value])

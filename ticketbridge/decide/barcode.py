"""Code 128, set B: text as bars, for labels and lists.

Every character is three bars and three spaces over eleven modules; a check character closes the symbol
(ISO/IEC 15417). Set B holds printable ASCII, which lots and job numbers are made of.
"""

from typing import Final

_PATTERNS: Final = (
    "212222", "222122", "222221", "121223", "121322", "131222", "122213", "122312", "132212", "221213",
    "221312", "231212", "112232", "122132", "122231", "113222", "123122", "123221", "223211", "221132",
    "221231", "213212", "223112", "312131", "311222", "321122", "321221", "312212", "322112", "322211",
    "212123", "212321", "232121", "111323", "131123", "131321", "112313", "132113", "132311", "211313",
    "231113", "231311", "112133", "112331", "132131", "113123", "113321", "133121", "313121", "211331",
    "231131", "213113", "213311", "213131", "311123", "311321", "331121", "312113", "312311", "332111",
    "314111", "221411", "431111", "111224", "111422", "121124", "121421", "141122", "141221", "112214",
    "112412", "122114", "122411", "142112", "142211", "241211", "221114", "413111", "241112", "134111",
    "111242", "121142", "121241", "114212", "124112", "124211", "411212", "421112", "421211", "212141",
    "214121", "412121", "111143", "111341", "131141", "114113", "114311", "411113", "411311", "113141",
    "114131", "311141", "411131", "211412", "211214", "211232", "2331112",
)  # fmt: skip
"""Widths in modules of bar, space, bar, space, bar, space, by value; the stop, 106, has one bar more."""

_START_B: Final = 104
_STOP: Final = 106
_FIRST: Final = ord(" ")
_LAST: Final = ord("~")

QUIET_MODULES: Final = 10
"""Blank modules that a reader needs on either side."""


def values_of(text: str) -> tuple[int, ...]:
    """Start, one value a character, check, stop. Check: (104 + sum of place x value) modulo 103, places from 1.

    Raises:
        ValueError: The text is empty or holds more than printable ASCII.
    """
    if not text or not all(_FIRST <= ord(letter) <= _LAST for letter in text):
        raise ValueError(f"Code 128 B holds printable ASCII, and {text!r} is something else")
    data = [ord(letter) - _FIRST for letter in text]
    check = (_START_B + sum(place * value for place, value in enumerate(data, 1))) % 103
    return (_START_B, *data, check, _STOP)


def bars_of(text: str) -> tuple[int, ...]:
    """Widths in modules of bars and spaces by turns, a bar first and last, without quiet zones.

    Raises:
        ValueError: The text is empty or holds more than printable ASCII.
    """
    return tuple(int(width) for value in values_of(text) for width in _PATTERNS[value])

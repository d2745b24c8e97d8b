"""PURE: pieces of different sizes packed on a strip, in as little length as can be found."""

from ticketbridge.decide.layout.packing.pack import QUICK, THOROUGH, DoesNotFit, Effort, pack
from ticketbridge.decide.layout.packing.pieces import (
    Cutting,
    Packing,
    Part,
    Piece,
    Placed,
    Shape,
    Strip,
    panel_set,
    whole_piece,
)

__all__ = [
    "QUICK",
    "THOROUGH",
    "Cutting",
    "DoesNotFit",
    "Effort",
    "Packing",
    "Part",
    "Piece",
    "Placed",
    "Shape",
    "Strip",
    "pack",
    "panel_set",
    "whole_piece",
]

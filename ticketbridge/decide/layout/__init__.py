"""PURE: where every piece of a job lies on the roll."""

from ticketbridge.decide.layout.lay_out import lay_out, place
from ticketbridge.decide.layout.problem import LayoutProblem

__all__ = ["LayoutProblem", "lay_out", "place"]

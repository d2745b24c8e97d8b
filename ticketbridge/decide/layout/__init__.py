"""PURE: where every piece of a job lies on the roll."""

from ticketbridge.decide.layout.lay_out import lay_out, place
from ticketbridge.decide.layout.problem import LayoutProblem
from ticketbridge.decide.layout.together import RollMeasures, lay_out_together

__all__ = ["LayoutProblem", "RollMeasures", "lay_out", "lay_out_together", "place"]

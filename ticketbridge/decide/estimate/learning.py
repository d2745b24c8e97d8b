"""Estimates that learn: what prints really took corrects the model, per press, print mode and substrate.

Everything is about the logarithm of actual / estimated, so that twice and half weigh alike.

* **Robust.** A print that stood an hour for a jam says nothing about the press. The middle of many is found with
  Huber's weights (Huber 1964, common practice): what lies further off than about one and a half spreads counts
  less, the further the less. The spread itself is the median deviation x 1.4826.
* **Shrinkage.** What is known of a press is what its modes are expected to do, and so on down to the substrate; a kind with
  n prints moves n / (n + 3) of the way from that expectation to its own middle, a press n / (n + 1) from the bare
  model. So no substrate is judged by one bad day.
* **Drift.** A press that was serviced, or has a worn pump, prints otherwise from one day on. The last ten prints are held
  against what was expected of them by all before: means that differ by more than their errors allow are a step
  (a moving sum, common practice in process control), and what lies before it is forgotten. Single prints far off
  are left out.
"""

from collections.abc import Iterable, Sequence
from math import exp, log, sqrt
from statistics import median
from typing import Final

from ticketbridge.model.learned import Correction, Key, Learned, Run

MOST_RUNS: Final = 150
"""The last prints of each press that are looked at."""
PRIOR_RUNS: Final = {1: 1.0, 2: 3.0, 3: 3.0}
"""How many prints the expectation weighs as, for a press, a mode on it, a substrate in that: the bare model may be far
off, so a press soon speaks for itself; its modes and substrates are much like it."""
PRIOR_SPREAD: Final = 0.12
"""What prints of one kind are taken to vary by before it is known, as a share; counts as five prints."""
HUBER: Final = 1.345
"""Spreads beyond which a print counts less; the usual figure, for 95 % efficiency on normal noise."""
LEAST_SPREAD: Final = 0.01
WINDOW: Final = 10
"""The last prints of a press that are held against all before them."""
SETTLED: Final = 20
"""Prints of a press before these, at least, or there is nothing to hold them against."""
ALARM: Final = 2.9
"""Standard errors between the two means that are taken for a step. A lower figure notices more and is wrong more
often; see ``tests/unit/decide/estimate/test_learning.py`` for how often this one is."""
FAR_OFF: Final = 4.0
"""A print that differs by more spreads is a mishap, not a sign of drift."""
OUT_OF_REASON: Final = log(5)
"""A print that took five times as long, or a fifth, teaches nothing."""
TENTH: Final = 1.2816
"""Spreads from the middle that one of ten lies beyond, on one side."""


def learn(runs: Iterable[Run]) -> Learned:
    """What these prints teach, the oldest first.

    Passed over are prints without figures, and those that took less than a fifth or more than five times of
    what was expected: that is another clock, or a night in between.
    """
    by_press: dict[str, list[Run]] = {}
    for run in runs:
        if run.estimated > 0 and run.actual > 0 and abs(_ratio(run)) <= OUT_OF_REASON:
            by_press.setdefault(run.press, []).append(run)
    corrections: dict[Key, Correction] = {}
    changed: dict[str, tuple[int, float]] = {}
    for press, all_runs in by_press.items():
        latest = all_runs[-MOST_RUNS:]
        since = last_step(latest)
        before = _Fit(latest[:since]).expected((press,))
        fit = _Fit(latest[since:], before)
        corrections |= fit.corrections()
        if since:
            changed[press] = (len(latest) - since, exp(fit.expected((press,)) - before))
    return Learned(corrections, changed)


def last_step(runs: Sequence[Run]) -> int:
    """Index of the first print after the last step of one press; 0 where there was none."""
    return next((start for start, _ in reversed(steps(runs))), 0)


def steps(runs: Sequence[Run]) -> list[tuple[int, int]]:
    """Every step that was noticed, as (first print after it, print at which it was noticed)."""
    found: list[tuple[int, int]] = []
    since = 0
    for index in range(len(runs)):
        base = runs[since : max(since, index + 1 - WINDOW)]
        if len(base) < SETTLED:
            continue
        fit = _Fit(base)
        off = [(_ratio(run) - fit.expected(run.keys[-1])) / fit.spread for run in runs[since : index + 1]]
        if _differ(off[len(base) :], len(base)):
            since += _first_after(off)
            found.append((since, index))
    return found


def _differ(window: Sequence[float], before: int) -> bool:
    """Whether these prints are too far from what was expected to be chance. Mishaps do not come five in ten."""
    near = [value for value in window if abs(value) <= FAR_OFF]
    above = sum(value > FAR_OFF for value in window)
    if max(above, len(window) - len(near) - above) >= len(window) / 2:
        return True
    return abs(sum(near) / len(near)) / sqrt(1 / len(near) + 1 / before) > ALARM


def _first_after(off: Sequence[float]) -> int:
    """Where the step most likely was: the last prints that differ most clearly, three to twenty of them."""
    near = [max(-FAR_OFF, min(FAR_OFF, value)) for value in off]
    lengths = range(3, min(2 * WINDOW, len(off)) + 1)
    return len(off) - max(lengths, key=lambda length: abs(sum(near[-length:])) / sqrt(length))


class _Fit:
    """Middles and spread of the prints of one press."""

    def __init__(self, runs: Sequence[Run], before: float = 0.0) -> None:
        self._before = before
        self._values: dict[Key, list[float]] = {}
        for run in runs:
            for key in run.keys:
                self._values.setdefault(key, []).append(_ratio(run))
        self._expected: dict[Key, float] = {}
        for key in sorted(self._values, key=len):
            self._expected[key] = self._middle(key)
        left = [_ratio(run) - self._expected[run.keys[-1]] for run in runs]
        own = 1.4826 * median(abs(value) for value in left) if left else 0.0
        count = len(left)
        variance = (count * own**2 + 5 * PRIOR_SPREAD**2) / (count + 5)
        self.spread = max(LEAST_SPREAD, sqrt(variance))

    def expected(self, key: Key) -> float:
        """The logarithm of actual / estimated that a print of this kind is expected to have.

        What nothing is known of is expected to go on as before the last step: 0, the bare model, at first.
        """
        while key:
            if key in self._expected:
                return self._expected[key]
            key = key[:-1]
        return self._before

    def corrections(self) -> dict[Key, Correction]:
        found = {}
        for key, values in self._values.items():
            middle = self._expected[key]
            wide = TENTH * self.spread * sqrt(1 + 1 / (len(values) + PRIOR_RUNS[len(key)]))
            found[key] = Correction(exp(middle), exp(middle - wide), exp(middle + wide), len(values))
        return found

    def _middle(self, key: Key) -> float:
        values = self._values[key]
        expected = self.expected(key[:-1])
        own = _huber_middle([value - expected for value in values])
        return expected + own * len(values) / (len(values) + PRIOR_RUNS[len(key)])


def _ratio(run: Run) -> float:
    return log(run.actual / run.estimated)


def _huber_middle(values: Sequence[float]) -> float:
    """Huber's estimate of the middle, by weighting again and again; from the median it settles in a few turns."""
    middle = median(values)
    spread = max(LEAST_SPREAD, 1.4826 * median(abs(value - middle) for value in values))
    for _ in range(5):
        weights = [min(1.0, HUBER * spread / max(abs(value - middle), 1e-12)) for value in values]
        middle = sum(weight * value for weight, value in zip(weights, values, strict=True)) / sum(weights)
    return middle

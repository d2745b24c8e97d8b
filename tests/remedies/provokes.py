"""One test for each code: it is provoked by the way people come in, then its remedy is followed, and it works.

A case is a function with one ``yield``. What stands above it goes wrong in the way that the code is about;
what stands below does what the remedy says::

    @provokes("xml.doctype", "leave it out")
    def test_a_doctype(scene: Scene) -> Iterator[None]:
        scene.order(BANNER, replaced(b"<JDF", b"<!DOCTYPE JDF>\\n<JDF"))
        yield
        scene.order(BANNER)

The runner sees to the rest: that the code was said, that sentence and remedy find all their facts, that the words
quoted stand in the remedy, and that afterwards neither this code nor any error is said. Where the remedy is that
there is nothing to do, no words are quoted and nothing follows the ``yield``.
"""

import functools
from collections.abc import Callable, Iterator
from typing import Any

from tests.remedies.scene import Scene
from ticketbridge.model.codes import remedy, sentence, severity_of
from ticketbridge.model.finding import Severity

Case = Callable[..., Iterator[None]]
"""A case takes the scene, and fixtures of its own where it needs any."""

CASES: dict[str, str] = {}
"""Code, and the name of the test that provokes it. Filled as the modules of this folder are imported."""


def provokes(
    code: str, quoted: str | None = None, *, also: tuple[str, ...] = ()
) -> Callable[[Case], Callable[..., None]]:
    """Make a case the test of a code.

    Args:
        code: The code that the case provokes.
        quoted: Words of its remedy that the case goes by; None where the remedy says that nothing is to do.
        also: More codes that are said above the ``yield`` and have nothing to do for a remedy.
    """

    def made(case: Case) -> Callable[..., None]:
        for one in (code, *also):
            assert CASES.setdefault(one, case.__name__) == case.__name__, f"{one} has a case already"

        @functools.wraps(case)
        def test(scene: Scene, **fixtures: Any) -> None:
            steps = case(scene, **fixtures)
            next(steps)
            for one in also:
                _said(one, None, scene)
            _said(code, quoted, scene)
            if quoted is not None:
                _followed(code, scene, steps)

        return test

    return made


def _said(code: str, quoted: str | None, scene: Scene) -> None:
    """The code was said, with all its facts, and its remedy is the one that the case goes by."""
    said = [finding for finding in scene.heard if finding.code == code]
    assert said, f"{code} was not said, but {scene.codes}"
    assert sentence(said[0])  # it has all its facts, or this raises
    advice = remedy(said[0])
    assert advice.startswith("Nothing") if quoted is None else quoted in advice, f"the remedy is: {advice}"


def _followed(code: str, scene: Scene, steps: Iterator[None]) -> None:
    """What stands below the ``yield`` goes well, and the code is not said again."""
    scene.heard.clear()
    scene.well = False
    next(steps, None)
    errors = [f"{one.code}: {sentence(one)}" for one in scene.heard if severity_of(one) is Severity.ERROR]
    assert errors == []
    assert code not in scene.codes, f"the remedy does not help: {[sentence(one) for one in scene.heard]}"
    assert scene.well, "what was tried after the remedy did not go well"

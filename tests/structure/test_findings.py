"""Every code is provoked by a test that follows its remedy; a code that nothing provokes has no place in the table."""

import importlib
from pathlib import Path

import tests.remedies.provokes as provoked
from ticketbridge.model.codes import CODES

REMEDIES = Path(provoked.__file__).parent
AWAITED = REMEDIES / "awaited.txt"
"""Codes that still lack their case, one a line. It only ever grows shorter."""


def test_every_code_has_a_case_that_provokes_it_and_follows_its_remedy() -> None:
    for module in sorted(REMEDIES.glob("test_*.py")):
        importlib.import_module(f"tests.remedies.{module.stem}")
    awaited = set(AWAITED.read_text(encoding="utf-8").split())

    without = sorted(set(CODES) - set(provoked.CASES) - awaited)
    unknown = sorted(set(provoked.CASES) - set(CODES))
    done = sorted(awaited & set(provoked.CASES) | awaited - set(CODES))

    assert (without, unknown) == ([], []), "add a case in tests/remedies, see provokes.py"
    assert done == [], "take these out of awaited.txt"

"""Every code is provoked by a test that follows its remedy; a code that nothing provokes has no place in the table."""

import importlib
from pathlib import Path

import tests.remedies.provokes as provoked
from ticketbridge.model.codes import CODES

REMEDIES = Path(provoked.__file__).parent


def test_every_code_has_a_case_that_provokes_it_and_follows_its_remedy() -> None:
    for module in sorted(REMEDIES.glob("test_*.py")):
        importlib.import_module(f"tests.remedies.{module.stem}")

    without = sorted(set(CODES) - set(provoked.CASES))
    unknown = sorted(set(provoked.CASES) - set(CODES))

    assert (without, unknown) == ([], []), "add a case in tests/remedies, see provokes.py"

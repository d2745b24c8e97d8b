"""What is found by following what documents reach, and that the same seed follows it the same way."""

from pathlib import Path

from tests.fuzz.documents import Document
from tests.fuzz.guided import Guided
from tests.fuzz.mutate import spoiled
from tests.fuzz.watching import Fault, Ledger, faults

SOUND = {"web-shop.json": [b'{"a": "b", "c": "d", "e": "f", "g": "h", "i": "j"}']}
WORDS = (b'"-1"', b'"NaN"', b'"1e309"', b'"24:00"', b'"{missing}"')
COUNT = 6000


class Nested:
    """Breaks where five conditions hold, each of which is asked only where the one before it held."""

    def read(self, document: Document) -> None:
        data = document.data
        if WORDS[0] not in data:
            return
        if WORDS[1] not in data:
            return
        if WORDS[2] not in data:
            return
        if WORDS[3] not in data:
            return
        if WORDS[4] in data:
            raise ValueError("all five")


class Blindly(Guided):
    """The same without the pool."""

    def _join(self, document: Document) -> None:
        """Nothing that was reached is followed."""


def found_by(trial: Guided) -> list[Fault]:
    return list(faults(trial, Ledger(), COUNT))


def guided() -> Guided:
    return Guided(Nested(), 7, Path(__file__).parent, SOUND)


def test_what_lies_behind_several_conditions_is_found_only_by_following() -> None:
    assert found_by(Blindly(Nested(), 7, Path(__file__).parent, SOUND)) == []
    assert found_by(guided()) != []


def test_the_same_seed_finds_the_same_documents() -> None:
    first, second = guided(), guided()

    assert found_by(first) == found_by(second)
    assert first.joined == second.joined > 0


def test_what_a_child_learned_is_not_lost_with_it() -> None:
    """Each fault ends a child; its pool and its arcs go on in the next one."""
    trial = guided()

    found = found_by(trial)

    assert len(found) > 1
    assert trial.joined >= len(WORDS) - 1
    assert all(fault.document == trial.document(fault.number) for fault in found[-1:])


def test_others_code_is_not_followed() -> None:
    trial = Guided(Nested(), 7, Path(spoiled.__code__.co_filename).parent / "elsewhere", SOUND)

    found_by(trial)

    assert len(trial.arcs) == 0

"""Cases beside a mapping: a file of the MIS, and beside it what ought to come of it.

An expectation names only what it cares about: values that it leaves out are not compared. Its form is that of the
order in ``explain --json``, in YAML, with the codes of findings that are expected.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from ticketbridge.model.codes import sentence
from ticketbridge.prove.trial import Trial, shown

EXPECTED: Final = ".expected.yaml"
"""Ending of an expectation; the file's own name stands before it."""
SAME_MM: Final = 0.001
"""Sizes count to a micrometre."""


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that is not as expected: where, what was expected, what is."""

    at: str
    expected: str
    found: str

    def __str__(self) -> str:
        """For people."""
        return f"{self.at}: expected {self.expected or 'nothing'}, is {self.found or 'nothing'}"


def differences(expected: object, found: Sequence[Trial]) -> list[Difference]:
    """What of a case is not as expected.

    Args:
        expected: The expectation as read: ``orders`` with what each must say, ``refused`` with codes of findings.
        found: What the mapping makes of the file.
    """
    if not isinstance(expected, Mapping) or not {"orders", "refused"} >= expected.keys():
        return [Difference("the expectation", "a block with the keys orders and refused", shown(expected))]
    orders = {one.order.job_id: one.order.model_dump(mode="json") for one in found if one.order}
    wanted = expected.get("orders") or []
    names = [str(one.get("job_id", "")) for one in wanted if isinstance(one, Mapping)]
    told: list[Difference] = []
    for name in [*names, *(name for name in orders if name not in names)]:
        if name not in orders:
            told.append(Difference(f"order {name}", "an order", _refusals(found, name)))
        elif name not in names:
            told.append(Difference(f"order {name}", "", "an order that nobody expected"))
    for one in wanted:
        if isinstance(one, Mapping) and (order := orders.get(str(one.get("job_id", "")))):
            told += _compared(f"order {order['job_id']}", one, order)
    codes = sorted({finding.code for one in found if one.order is None for finding in one.findings})
    refused = sorted(str(code) for code in expected.get("refused") or [])
    if codes != refused:
        told.append(Difference("refused", ", ".join(refused), ", ".join(codes)))
    return told


def expectation(found: Sequence[Trial]) -> dict[str, Any]:
    """The expectation that is met by what the mapping makes now, for a person to look through."""
    orders = [
        one.order.model_dump(mode="json", exclude_defaults=True, exclude={"source"})
        for one in found
        if one.order
    ]
    codes = sorted({finding.code for one in found if one.order is None for finding in one.findings})
    return {"orders": orders} | ({"refused": codes} if codes else {})


def _compared(at: str, wanted: object, is_there: object) -> Iterator[Difference]:
    if isinstance(wanted, Mapping) and isinstance(is_there, Mapping):
        for name, value in wanted.items():
            yield from _compared(f"{at} {name}", value, is_there.get(name))
    elif isinstance(wanted, list) and isinstance(is_there, list):
        if len(wanted) != len(is_there):
            yield Difference(f"{at}, how many", str(len(wanted)), str(len(is_there)))
            return
        for number, (one, other) in enumerate(zip(wanted, is_there, strict=True), start=1):
            yield from _compared(f"{at} {number}", one, other)
    elif not _same(wanted, is_there):
        yield Difference(at, shown(wanted), shown(is_there))


def _same(wanted: object, is_there: object) -> bool:
    if isinstance(wanted, bool) or isinstance(is_there, bool):
        return wanted is is_there
    if isinstance(wanted, int | float) and isinstance(is_there, int | float):
        return abs(wanted - is_there) < SAME_MM
    return wanted == is_there or str(wanted) == str(is_there)


def _refusals(found: Sequence[Trial], name: str) -> str:
    """Why there is no such order, as far as it was read."""
    reasons = [sentence(finding) for one in found if one.job_id == name for finding in one.findings]
    return "refused: " + " ".join(reasons) if reasons else ""

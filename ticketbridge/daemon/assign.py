"""Who is to serve what: computed alike by every bridge from the same board, so that they need not talk.

What is free goes to whoever has least. What is served stays where it is, unless another has two less. Each kind
is shared out for itself, and only among bridges that see its folders.
"""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from itertools import groupby


def assign(
    names: Sequence[str], can_serve: Mapping[str, frozenset[str]], owners: Mapping[str, str | None]
) -> dict[str, str]:
    """Which bridge is to serve which name.

    Args:
        names: Names of leases, each a kind, a blank and an id.
        can_serve: What each bridge could serve.
        owners: Who serves what now.

    Returns:
        A bridge for every name that any of them could serve.
    """
    assigned: dict[str, str] = {}
    for _, of_a_kind in groupby(sorted(names), lambda name: name.partition(" ")[0]):
        assigned |= _assign_kind(list(of_a_kind), can_serve, owners)
    return assigned


def _assign_kind(
    names: list[str], can_serve: Mapping[str, frozenset[str]], owners: Mapping[str, str | None]
) -> dict[str, str]:
    able = {name: sorted(bridge for bridge, seen in can_serve.items() if name in seen) for name in names}
    assigned = {name: str(owner) for name in names if (owner := owners.get(name)) in able[name]}
    load = Counter(assigned.values())

    def least(name: str) -> str:
        return min(able[name], key=lambda bridge: (load[bridge], bridge))

    for name in names:
        if able[name] and name not in assigned:
            assigned[name] = least(name)
            load[assigned[name]] += 1
    while move := next((name for name in reversed(names) if _eases(name, assigned, load, least)), None):
        load[assigned[move]] -= 1
        assigned[move] = least(move)
        load[assigned[move]] += 1
    return assigned


def _eases(
    name: str, assigned: Mapping[str, str], load: Mapping[str, int], least: Callable[[str], str]
) -> bool:
    """Whether moving it leaves the two bridges more alike than they are. Each such move brings the end nearer."""
    return name in assigned and load[assigned[name]] >= load[least(name)] + 2

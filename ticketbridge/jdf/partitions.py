"""Partitioned resources: one resource, many leaves, and a leaf inherits what it does not say itself.

A resource's root names its keys in ``PartIDKeys``, outermost first; leaves nest as children of the same name, each
level sets one key (JDF specification, partitioning of resources). A link or a reference says by ``Part`` which
leaves it means; without a ``Part`` it means them all.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from ticketbridge.jdf.spans import Said
from ticketbridge.jdf.writing import Element
from ticketbridge.vocabulary.names import jdf
from ticketbridge.vocabulary.words import PART_ID_KEYS

Keys = Mapping[str, str]
"""A ``Part``: partition keys with the values that are meant."""

Way = tuple[Element, ...]
"""A leaf and what it inherits from: the leaf first, the resource last."""

_KEYS: Final = frozenset(PART_ID_KEYS)

MOST_LEAVES: Final = 500_000
"""Leaves that one ticket may make us look at: each part of the largest ticket twice. A file of crossed parts would
otherwise keep the bridge busy for hours."""

_MAY_STOP_EARLY: Final = ("Implicit", "Sparse")
"""``PartUsage`` under which a leaf may be asked for that is not there; what stands above it counts then."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """A resource, as one link or reference means it.

    Attributes:
        ways: One for each leaf that is meant; at least one.
    """

    ways: Sequence[Way]

    @property
    def resource(self) -> Element:
        """The resource itself, above all its leaves."""
        return self.ways[0][-1]

    def said_by(self, attribute: str) -> Said | None:
        """What all leaves that are meant say, themselves or by inheritance; None where they do not agree."""
        said = [_said_on(way, attribute) for way in self.ways]
        first = said[0]
        if first is None or any(one is None or one.raw != first.raw for one in said):
            return None
        return first

    def differs_in(self, *attributes: str) -> str | None:
        """The first of these attributes in which the leaves that are meant do not agree."""
        for attribute in attributes:
            if len({said.raw if said else None for said in self._all(attribute)}) > 1:
                return attribute
        return None

    def holder(self, name: str) -> Element | None:
        """The nearest element on the first leaf's way that holds, or refers to, something of that name."""
        for element in self.ways[0]:
            if next(element.iterchildren(jdf(name), jdf(f"{name}Ref")), None) is not None:
                return element
        return None

    def each(self) -> Iterator["Chosen"]:
        """Each leaf that is meant, alone."""
        return (Chosen((way,)) for way in self.ways)

    def _all(self, attribute: str) -> Iterator[Said | None]:
        return (_said_on(way, attribute) for way in self.ways)


class TooManyParts(Exception):
    """A ticket asks for more parts of parts than anybody needs."""


@dataclass(slots=True)
class Choices:
    """What was chosen in one ticket; the same question is answered once.

    Attributes:
        leaves_left: Leaves that may still be looked at.
    """

    leaves_left: int = MOST_LEAVES
    _known: dict[tuple[Element, tuple[tuple[tuple[str, str], ...], ...]], Chosen | None] = field(
        default_factory=dict
    )

    def choose(self, resource: Element, parts: Iterable[Keys]) -> Chosen | None:
        """The leaves of a resource that are meant.

        Args:
            resource: A resource, partitioned or not.
            parts: Each ``Part`` of the link or the reference; none of them means the whole resource.

        Returns:
            None where a part is asked for that is not there, and ``PartUsage`` does not allow that.

        Raises:
            TooManyParts: The ticket has asked for too many in all.
        """
        asked = tuple(dict.fromkeys(tuple(sorted(part.items())) for part in parts)) or ((),)
        key = (resource, asked)
        if key not in self._known:
            self._known[key] = self._choose(resource, [dict(part) for part in asked])
        return self._known[key]

    def _choose(self, resource: Element, parts: Iterable[Keys]) -> Chosen | None:
        found: dict[Way, None] = {}
        for part in parts:
            ways = list(self._ways(resource, part))
            if not ways:
                return None
            found.update(dict.fromkeys(ways))
        return Chosen(tuple(found))

    def _ways(self, resource: Element, part: Keys) -> Iterator[Way]:
        """Depth first, with a stack of our own: how deep a ticket nests is not ours to say."""
        may_stop = resource.get("PartUsage") in _MAY_STOP_EARLY
        stack: list[tuple[Way, Keys]] = [((resource,), part)]
        while stack:
            way, wanted = stack.pop()
            leaves = leaves_of(way[0])
            self.leaves_left -= 1 + len(leaves)
            if self.leaves_left < 0:
                raise TooManyParts
            same_as = _same_as(way[0]) if wanted is part else None
            if same_as is not None:
                stack.append(((resource,), {**part, **same_as}))
                continue
            fitting = [leaf for leaf in leaves if _fits(leaf, wanted)]
            if not leaves or (not fitting and may_stop):
                yield way
            stack += [((leaf, *way), wanted) for leaf in reversed(fitting)]


def keys_of(element: Element) -> dict[str, str]:
    """The partition keys that an element carries."""
    return {
        str(name): " ".join(str(value).split()) for name, value in element.attrib.items() if name in _KEYS
    }


def leaves_of(resource: Element) -> list[Element]:
    """The leaves directly below a resource or a leaf."""
    return list(resource.iterchildren(str(resource.tag)))


def _said_on(way: Way, attribute: str) -> Said | None:
    for element in way:
        raw = element.get(attribute)
        if raw:
            return Said(raw, element, attribute)
    return None


def _same_as(leaf: Element) -> Keys | None:
    """The part that a leaf is ``Identical`` to; one step is followed, and no circle."""
    part = leaf.find(f"{jdf('Identical')}/{jdf('Part')}")
    return None if part is None else keys_of(part)


def _fits(leaf: Element, part: Keys) -> bool:
    return all(part.get(name, value) == value for name, value in keys_of(leaf).items())

"""Where orders, items and parts repeat in a tree, and what stands below each of them."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final, NamedTuple

from ticketbridge.extract.found import Found
from ticketbridge.model.reads import FileKind, Within
from ticketbridge.model.ticket_field import NEEDED, TicketField
from ticketbridge.prove.draft.details import detail_keys, leaves, tell_details_apart
from ticketbridge.prove.draft.names import fit, named
from ticketbridge.prove.draft.survey import NothingFound, Spot, Survey
from ticketbridge.prove.draft.trees import Node, json_place
from ticketbridge.prove.draft.values import judged
from ticketbridge.prove.draft.words import RECORD_WORDS, tokens

Path = tuple[str, ...]
MOST_LEVELS: Final = 3


@dataclass(slots=True)
class _Shape:
    """All nodes of one path in all samples."""

    names: tuple[str, ...]
    nodes: list[Node] = field(default_factory=list)
    most: int = 0
    values: list[Found] = field(default_factory=list)
    leaf: bool = True


class _Level(NamedTuple):
    within: Within
    path: Path


def survey_tree(roots: Sequence[Node], kind: FileKind) -> Survey:
    """What documents hold.

    Raises:
        NothingFound: No values stand in them.
    """
    keys = detail_keys(roots)
    for root in roots:
        tell_details_apart(root, kind, keys)
    shapes = _shapes(roots)
    if not any(shape.values for shape in shapes.values()):
        raise NothingFound("no values stand in the samples")
    levels, why = _levels(shapes)
    survey = Survey(kind, _spots(roots, shapes, levels, kind), levels=tuple(level.within for level in levels))
    for key, text in _places(levels, roots, shapes, kind).items():
        survey.layout[key] = (text, why[key])
    return survey


def _shapes(roots: Sequence[Node]) -> dict[Path, _Shape]:
    shapes: dict[Path, _Shape] = {}

    def walk(node: Node, path: Path, names: tuple[str, ...]) -> None:
        shape = shapes.setdefault(path, _Shape(names))
        shape.nodes.append(node)
        if node.value is not None:
            shape.values.append(node.value)
        counted: Counter[str] = Counter()
        for child in node.children:
            counted[child.step] += 1
            shape.leaf = False
            walk(child, (*path, child.step), (*names, child.name))
        for step, count in counted.items():
            below = shapes[(*path, step)]
            below.most = max(below.most, count)

    for root in roots:
        walk(root, (), ())
    return shapes


def _repeats(path: Path, shape: _Shape) -> bool:
    """Whether a path leads to one of several, or to what is called so."""
    if not path or (shape.leaf and shape.values):
        return False
    if shape.most > 1 or any(node.listed for node in shape.nodes):
        return True
    return (
        _last_word(shape.names[-1]) in RECORD_WORDS
        and sum(1 for node in shape.nodes[:1] for _ in leaves(node)) > 3
    )


def _last_word(name: str) -> str:
    return (tokens(name) or [""])[-1]


def _levels(shapes: dict[Path, _Shape]) -> tuple[list[_Level], dict[str, str]]:
    """File, order, item, part, as far as they are there, with reasons."""
    repeating = [path for path, shape in shapes.items() if _repeats(path, shape)]
    votes: Counter[Path] = Counter()
    numbers: dict[Path, float] = {}
    for path, shape in shapes.items():
        if not shape.values:
            continue
        owner = max((one for one in repeating if path[: len(one)] == one), key=len, default=())
        level = Within.ORDER if len(owner) <= len(min(repeating, key=len, default=())) else Within.ITEM
        read = named(shape.names[-1] if shape.names else "", shape.names[len(owner) : -1], level)
        for needed in NEEDED:
            sure = fit(read, needed)
            if sure < 0.5 or not judged(needed, shape.values[:50], read.unit).fits:
                continue
            if needed is TicketField.JOB_ID:
                numbers[owner] = max(numbers.get(owner, 0.0), sure)
            else:
                votes[owner] += (
                    1 if needed is TicketField.ARTWORK_URL else 2
                )  # an item may have several files
    leaf = max(votes, key=lambda path: (votes[path], len(path)), default=max(repeating, key=len, default=()))
    chain = [path for path in sorted(repeating, key=len) if leaf[: len(path)] == path]
    order = _order_of(chain, numbers)
    below = [path for path in chain if len(path) > len(order)]
    below = below[-(MOST_LEVELS - 1) :]
    levels = [_Level(Within.FILE, ()), _Level(Within.ORDER, order)]
    levels += [_Level(within, path) for within, path in zip((Within.ITEM, Within.PART), below, strict=False)]
    why = {
        key: f'"{shapes[level.path].names[-1] or "the list"}" comes {len(shapes[level.path].nodes)} times'
        + (", and order numbers stand there" if key == "orders" and order in numbers else "")
        for key, level in zip(("orders", "items", "parts"), levels[1:], strict=False)
        if level.path
    }
    return levels, why


def _order_of(chain: Sequence[Path], numbers: dict[Path, float]) -> Path:
    """The level that an order's number stands at; of several the outermost, as items have numbers, too."""
    levels = [(), *chain]
    best = max((numbers.get(path, 0.0) for path in levels), default=0.0)
    if best:
        return next(path for path in levels if numbers.get(path, 0.0) >= best - 0.2)
    return chain[0] if chain else ()


def _json_steps(path: Path, begin: int, shapes: dict[Path, _Shape]) -> list[str]:
    """The steps of a path from a level on, with ``*`` after each list of objects."""
    steps = []
    for end in range(begin + 1, len(path) + 1):
        shape = shapes[path[:end]]
        steps.append(path[end - 1])
        if any(node.listed for node in shape.nodes) and not shape.leaf:
            steps.append("*")
    return steps


def _places(
    levels: Sequence[_Level], roots: Sequence[Node], shapes: dict[Path, _Shape], kind: FileKind
) -> dict[str, str]:
    """The keys orders, items, parts."""
    places: dict[str, str] = {}
    before: Path = ()
    for key, level in zip(("orders", "items", "parts"), levels[1:], strict=False):
        steps = level.path[len(before) :]
        if steps:
            if kind is FileKind.JSON:
                inner = _json_steps(level.path, len(before), shapes)
                places[key] = json_place(inner if inner[-1] == "*" else [*inner, "*"], many=True)
            elif key == "orders":
                places[key] = "/" + "/".join((roots[0].step, *steps))
            else:
                places[key] = "/".join(steps)
        before = level.path
    return places


def _spots(
    roots: Sequence[Node], shapes: dict[Path, _Shape], levels: Sequence[_Level], kind: FileKind
) -> list[Spot]:
    owners: dict[Path, _Level] = {}
    for path, shape in shapes.items():
        if shape.values:
            fitting = [level for level in levels if path[: len(level.path)] == level.path]
            owners[path] = fitting[-1]
    values: dict[Path, list[Found | None]] = {path: [] for path in owners}
    many: set[Path] = set()
    for root in roots:
        for records in _records(root, levels):
            for path, owner in owners.items():
                record = records[owner.within]
                found = list(_below(record, path[len(owner.path) :])) if record is not None else []
                if len(found) > 1:
                    many.add(path)
                values[path].append(found[0] if found else None)
    return [
        Spot(
            _at(path, owner, shapes, kind, roots[0]),
            owner.within,
            *_name(shapes[path].names, len(owner.path), roots[0]),
            tuple(values[path]),
            several=path in many,
        )
        for path, owner in owners.items()
    ]


def _at(path: Path, owner: _Level, shapes: dict[Path, _Shape], kind: FileKind, root: Node) -> str:
    if kind is FileKind.JSON:
        return json_place(_json_steps(path, len(owner.path), shapes))
    steps = path[len(owner.path) :]
    if owner.within is Within.FILE:
        return "/" + "/".join((root.step, *steps))
    return "/".join(steps) or "."


def _name(names: tuple[str, ...], begin: int, root: Node) -> tuple[str, tuple[str, ...]]:
    below = names[begin:]
    return (below[-1], below[:-1]) if below else (names[-1] if names else root.name, ())


def _records(root: Node, levels: Sequence[_Level]) -> Iterator[dict[Within, Node]]:
    """Every innermost record with those around it."""

    def walk(around: dict[Within, Node], rest: Sequence[_Level], path: Path) -> Iterator[dict[Within, Node]]:
        if not rest:
            yield around
            return
        level = rest[0]
        outer = next(reversed(around.values()))
        some = list(_below_nodes(outer, level.path[len(path) :]))
        if not some and level.within in (Within.ITEM, Within.PART):
            some = [outer]
        for one in some:
            yield from walk({**around, level.within: one}, rest[1:], level.path)

    yield from walk({Within.FILE: root}, levels[1:], ())


def _below_nodes(node: Node, steps: Path) -> Iterator[Node]:
    if not steps:
        yield node
        return
    for child in node.children:
        if child.step == steps[0]:
            yield from _below_nodes(child, steps[1:])


def _below(node: Node, steps: Path) -> Iterator[Found]:
    for one in _below_nodes(node, steps):
        if one.value is not None:
            yield one.value

"""The nodes of a process ticket: which of them print on a press like ours, and which may be run at all."""

from collections.abc import Iterator, Mapping
from typing import Final

from ticketbridge.jdf.paths import Paths
from ticketbridge.jdf.resources import Resources, processes_of
from ticketbridge.jdf.writing import Element
from ticketbridge.model.finding import Finding, Place
from ticketbridge.vocabulary.names import jdf

PRINTS: Final = "DigitalPrinting"
"""The process of a press like ours; alone, in a Combined node, or in a gray box."""

OTHER_PRINTING: Final = ("ConventionalPrinting", "IDPrinting")
"""Processes that print on another kind of press: with plates, or on cut sheets as JDF 1.0 said it."""

_PLATES: Final = ("ImageSetting", "ContactCopying", "FilmToPlateCopying", "CylinderLayoutPreparation")
"""Processes that make what such a press prints from."""

MAY_NOT_RUN: Final = ("Inactive", "Informative", "TestRun")
"""``JDF@Activation`` under which nothing is printed, the strongest first; a node inherits from those around it.

Inactive is not to be run yet, and its sender says when; Informative never is. Held may be run once it is let go,
so it is taken and waits (JDF specification, Activation).
"""

AT_WORK_OR_DONE: Final = frozenset(
    {"Setup", "InProgress", "Cleanup", "Spawned", "Suspended", "Stopped", "Completed", "Aborted"}
)
"""``JDF@Status`` of a node that is somebody else's by now, or finished; printing it again takes a new word."""


def is_process_ticket(root: Element) -> bool:
    """Whether a document says how to make something: a JDF node that prints, or holds one that does."""
    return root.tag == jdf("JDF") and bool(printing_nodes(root))


def printing_nodes(root: Element) -> list[Element]:
    """The nodes that print, in document order; of a group that its nodes below spell out, those below."""
    nodes = [node for node in root.iter(jdf("JDF")) if PRINTS in processes_of(node)]
    around = {above for node in nodes for above in node.iterancestors(jdf("JDF"))}
    return [node for node in nodes if node not in around]


def other_press(root: Element) -> tuple[Element, str] | None:
    """The first node of another kind of press, and its process; of a product, among the nodes that make it alone."""
    for node in root.iter(jdf("JDF")):
        for process in processes_of(node):
            if (process in OTHER_PRINTING or process in _PLATES) and _makes(node, root):
                return node, process
    return None


def found_other_press(node: Element, process: str, file: str, paths: Paths) -> Finding:
    """The finding that a node is for another kind of press."""
    place = Place(file, node.sourceline, path=paths.of(node, "Types" if node.get("Types") else "Type"))
    return Finding("ticket.other-press", place, {"what": "process", "found": process})


def _makes(node: Element, root: Element) -> bool:
    """Whether no other product stands between a node and the one above."""
    for above in node.iterancestors(jdf("JDF")):
        if above is root:
            return True
        if above.get("Type") == "Product":
            return False
    return True


def not_active(node: Element, file: str, paths: Paths) -> Finding | None:
    """The finding that a node, or one around it, must not be run."""
    nodes = [node, *node.iterancestors(jdf("JDF"))]
    for word in MAY_NOT_RUN:
        for one in nodes:
            if one.get("Activation") == word:
                place = Place(file, one.sourceline, path=paths.of(one, "Activation"))
                return Finding("ticket.not-active", place, {"found": word})
    return None


def is_held(node: Element) -> bool:
    """Whether a node that may run waits until somebody lets it go: it, or one around it, is Held."""
    return any(one.get("Activation") == "Held" for one in (node, *node.iterancestors(jdf("JDF"))))


def left_alone(nodes: Mapping[Element, Finding]) -> Iterator[Finding]:
    """What is told of nodes that are left alone beside others that are printed."""
    for node, reason in nodes.items():
        facts = {"node": node.get("JobPartID") or node.get("ID"), "found": reason.facts["found"]}
        yield Finding("ticket.node-left-alone", reason.place, facts)


def waits(node: Element, resources: Resources) -> bool:
    """Whether any part of a node is still to be run."""
    statuses = list(_statuses(node, resources))
    return not statuses or not AT_WORK_OR_DONE.issuperset(statuses)


def _statuses(node: Element, resources: Resources) -> Iterator[str]:
    """The node's status; ``Part`` and ``Pool`` send on to those of its parts (JDF 1.3, and 1.2 and older)."""
    status = node.get("Status", "")
    if status == "Pool":
        for pool in node.iterfind(jdf("StatusPool")):
            parts = [part.get("Status", "") for part in pool.iterfind(jdf("PartStatus"))]
            yield from parts or [pool.get("Status", "")]
    elif status == "Part":
        planning = resources.used(node, "NodeInfo")
        for part in () if planning is None else planning.iter(jdf("NodeInfo")):
            if part.get("NodeStatus"):
                yield part.get("NodeStatus", "")
    else:
        yield status

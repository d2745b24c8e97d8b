"""A document that holds our vocabulary and nothing else, so that only our own words can be refused.

Whatever the standard or another vendor adds stays untouched in the document itself; what is looked at is then a
copy without it, which is thrown away. Line numbers survive the copying.
"""

from copy import deepcopy
from dataclasses import dataclass

from ticketbridge.jdf.kinds import Kind
from ticketbridge.jdf.paths import is_element
from ticketbridge.jdf.writing import Element


@dataclass(frozen=True, slots=True)
class Pruned:
    """The document, or a copy of it.

    Attributes:
        root: Its root element; not to be changed.
        elements: All its elements with their kinds, in no particular order.
    """

    root: Element
    elements: list[tuple[Element, Kind]]


def prune(root: Element, kind: Kind, *, spent: bool = False) -> Pruned:
    """A document without what is not in our vocabulary; itself, where it holds nothing else.

    Foreign elements and attributes go, so do elements and attributes of the standard that we neither read nor
    write, and so does everything of the schema-instance namespace: an unknown ``xsi:type`` refuses nothing.

    Args:
        root: Root of the document; not changed, unless it is spent.
        kind: The kind of its root.
        spent: Whether it need not be copied, as nobody needs it any more.
    """
    elements = _all_known(root, kind)
    if elements is not None:
        return Pruned(root, elements)
    return _without_others(root if spent else deepcopy(root), kind)


def _all_known(root: Element, kind: Kind) -> list[tuple[Element, Kind]] | None:
    """All elements with their kinds; None as soon as there is one, or an attribute, that we do not know."""
    elements: list[tuple[Element, Kind]] = [(root, kind)]
    for element, kind_here in elements:
        for name in element.keys():  # noqa: SIM118  lxml: the keys in one go
            if name not in kind_here.attributes:
                return None
        for child in element:
            child_kind = kind_here.children.get(child.tag)
            if child_kind is not None:
                elements.append((child, child_kind))
            elif is_element(child):
                return None
    return elements


def _without_others(root: Element, kind: Kind) -> Pruned:
    elements: list[tuple[Element, Kind]] = [(root, kind)]
    for element, kind_here in elements:
        known = kind_here.attributes
        for name in element.keys():  # noqa: SIM118  lxml: the keys in one go, while attributes are taken out
            if name not in known:
                del element.attrib[name]
        children = kind_here.children
        for child in list(element) if len(element) else ():
            child_kind = children.get(child.tag)
            if child_kind is not None:
                elements.append((child, child_kind))
            elif is_element(child):
                element.remove(child)
    return Pruned(root, elements)

"""Values and links of a ticket, read so that what is missing or wrong is told by its name."""

from lxml import etree

from ticketbridge.press_sim.geometry import Matrix, numbers
from ticketbridge.vocabulary.names import jdf


class Unprintable(Exception):
    """The press cannot print this ticket; the message says why, in one sentence."""


def text(element: "etree._Element", attribute: str) -> str:
    """An attribute that must be there.

    Raises:
        Unprintable: It is not there, or empty.
    """
    value = element.get(attribute)
    if not value:
        raise Unprintable(f"{_name(element)} has no {etree.QName(attribute).localname}.")
    return value


def number_list(element: "etree._Element", attribute: str, count: int) -> tuple[float, ...]:
    """An attribute that must hold so many numbers.

    Raises:
        Unprintable: It is not there, or holds something else.
    """
    written = text(element, attribute)
    try:
        return numbers(written, count)
    except ValueError:
        place = f"{_name(element)}@{etree.QName(attribute).localname}"
        wanted = "a number" if count == 1 else f"{count} numbers"
        raise Unprintable(f"{place} must be {wanted}, not {written!r}.") from None


def whole_number(element: "etree._Element", attribute: str, least: int, most: int) -> int:
    """An attribute that must hold one whole number within limits.

    Raises:
        Unprintable: It is not there, or holds something else.
    """
    value = number_list(element, attribute, 1)[0]
    if value != int(value) or not least <= value <= most:
        place = f"{_name(element)}@{etree.QName(attribute).localname}"
        raise Unprintable(f"{place} must be a whole number from {least} to {most}, not {value:g}.")
    return int(value)


def matrix(element: "etree._Element") -> Matrix:
    """The element's CTM.

    Raises:
        Unprintable: It is not six numbers.
    """
    a, b, c, d, e, f = number_list(element, "CTM", 6)
    return a, b, c, d, e, f


def link_to(root: "etree._Element", resource: str, usage: str = "Input") -> "etree._Element | None":
    """The node's first link to a resource of that name."""
    for link in root.iterfind(f"{jdf('ResourceLinkPool')}/{jdf(resource + 'Link')}"):
        if link.get("Usage") == usage:
            return link
    return None


def by_id(root: "etree._Element", resource_id: str | None) -> "etree._Element | None":
    """The resource in the node's pool with that ID."""
    for resource in root.iterfind(f"{jdf('ResourcePool')}/*"):
        if resource_id is not None and resource.get("ID") == resource_id:
            return resource
    return None


def linked(root: "etree._Element", resource: str, usage: str = "Input") -> "etree._Element | None":
    """The resource that the node's first link of that name points at."""
    link = link_to(root, resource, usage)
    return None if link is None else by_id(root, link.get("rRef"))


def needed(root: "etree._Element", resource: str) -> "etree._Element":
    """A linked input resource that must be there.

    Raises:
        Unprintable: There is none.
    """
    found = linked(root, resource)
    if found is None:
        raise Unprintable(f"The ticket has no {resource}.")
    return found


def _name(element: "etree._Element") -> str:
    return etree.QName(element).localname

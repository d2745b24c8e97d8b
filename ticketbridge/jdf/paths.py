"""Where an element stands, as an XPath that people can follow: ``/JDF/ResourcePool/Media[2]/@Thickness``."""

from ticketbridge.jdf.writing import Element


class Paths:
    """XPaths of a document's elements; each is worked out once.

    Names are written without prefix, and ``[n]`` only where siblings share a name.
    """

    def __init__(self) -> None:
        self._known: dict[Element, str] = {}

    def of(self, element: Element, attribute: str | None = None) -> str:
        """The path of an element, or of one of its attributes."""
        path = self._known.get(element) or self._work_out(element)
        return path if attribute is None else f"{path}/@{local_name(attribute)}"

    def _work_out(self, element: Element) -> str:
        chain: list[Element] = []
        here: Element | None = element
        while here is not None and here not in self._known:
            chain.append(here)
            here = here.getparent()
        path = "" if here is None else self._known[here]
        for step in reversed(chain):
            path = self._known[step] = f"{path}/{local_name(step)}{_position(step)}"
        return path


def local_name(name: Element | str) -> str:
    """A name without its namespace."""
    return (name if isinstance(name, str) else str(name.tag)).rpartition("}")[2]


def _position(element: Element) -> str:
    parent = element.getparent()
    if parent is None:
        return ""
    namesakes = list(parent.iterchildren(str(element.tag)))
    return f"[{namesakes.index(element) + 1}]" if len(namesakes) > 1 else ""


def is_element(node: Element) -> bool:
    """Whether a node is an element, and not a comment or an instruction."""
    return isinstance(node.tag, str)

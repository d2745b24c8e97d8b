"""The little of SVG that the pictures are made of."""

from typing import Final

from lxml import etree

from ticketbridge.vocabulary.units import number

SVG_NAMESPACE: Final = "http://www.w3.org/2000/svg"

Node = etree._Element  # noqa: SLF001  lxml gives its element type no public name


def new_picture() -> Node:
    """An empty picture."""
    return etree.Element(f"{{{SVG_NAMESPACE}}}svg", nsmap={None: SVG_NAMESPACE})


def add(parent: Node, name: str, **attributes: str) -> Node:
    """One more element; see ``set_attributes`` for the names."""
    made: Node = etree.SubElement(parent, f"{{{SVG_NAMESPACE}}}{name}")
    set_attributes(made, **attributes)
    return made


def set_attributes(node: Node, **attributes: str) -> None:
    """Attributes with the hyphens that SVG writes and Python cannot."""
    for name, value in attributes.items():
        node.set(name.replace("_", "-"), value)


def number_in_svg(value: float) -> str:
    """A number, short."""
    return number(round(value, 3))


def as_bytes(picture: Node) -> bytes:
    """The picture as a document, UTF-8."""
    return bytes(etree.tostring(picture, xml_declaration=True, encoding="UTF-8", pretty_print=True))

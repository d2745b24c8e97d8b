"""The file to print, as the ticket names it."""

from typing import Final
from urllib.parse import urljoin

from ticketbridge.jdf.reading import ItemReading, said_by
from ticketbridge.jdf.spans import Said, Unreadable
from ticketbridge.jdf.writing import Element
from ticketbridge.vocabulary.names import jdf

_SHARE: Final = "\\\\"
"""How a path on a Windows share begins; it is no URL, and it is met."""


def add_artwork(item: ItemReading) -> None:
    """Add the first artwork that has a URL: where it is, of what type, which page."""
    intent = item.intent("ArtDeliveryIntent")
    if intent is None:
        return
    resources = item.reading.resources
    for delivery in intent.iterfind(jdf("ArtDelivery")):
        for run_list in resources.inside(delivery, "RunList"):
            for run in (run_list, *run_list.iterfind(jdf("RunList"))):
                for element in resources.inside(run, "LayoutElement"):
                    for file in resources.inside(element, "FileSpec"):
                        url = said_by(file, "URL")
                        if url is not None:
                            _add(item, delivery, run_list, run, url)
                            return


def _add(item: ItemReading, delivery: Element, run_list: Element, run: Element, url: Said) -> None:
    directory = said_by(run, "Directory") or said_by(run_list, "Directory")
    add_file(item, url, directory, said_by(run, "Pages") or said_by(run_list, "Pages"))
    has_bleeds = said_by(delivery, "HasBleeds")
    if has_bleeds is not None:
        item.add("has_bleeds", has_bleeds.raw.strip() == "true", has_bleeds)


def add_file(item: ItemReading, url: Said, directory: Said | None, pages: Said | None) -> None:
    """Add a file to print.

    Args:
        item: The item.
        url: ``FileSpec@URL``; its type is read beside it.
        directory: ``RunList@Directory``, where there is one.
        pages: ``RunList@Pages``, where it says any.
    """
    try:
        item.add("artwork_url", _resolved(directory, url.raw.strip()), url)
    except ValueError:
        item.reading.find_unreadable(url, "URL of the artwork", Unreadable("a file URL or a path"))
    mime_type = said_by(url.element, "MimeType")
    if mime_type is not None:
        item.add("artwork_mime_type", mime_type.raw.strip(), mime_type)
    if pages is not None:
        _add_page(item, pages)


def _add_page(item: ItemReading, pages: Said) -> None:
    first = pages.raw.replace("~", " ").split()[:1]
    try:
        item.add("artwork_page", int("".join(first)), pages)
    except ValueError:
        item.reading.find_unreadable(pages, "pages of the artwork", Unreadable("a page counted from 0"))


def _resolved(directory: Said | None, url: str) -> str:
    """A relative URL counts from its RunList's directory, where there is one (JDF specification, RunList).

    Raises:
        ValueError: It cannot be taken apart as a URL.
    """
    if directory is None or url.startswith(_SHARE):
        return url
    return urljoin(directory.raw.strip().rstrip("/") + "/", url)

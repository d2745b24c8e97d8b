"""The way that a document takes through the bridge until it is decided or answered, and what is said about it.

The functions are those that the bridge calls. What the bridge has done in a child process is done here at once, as
this is a child process already: mappings read (``extract.apart``), PDFs looked at.
"""

import hashlib
import pickle
from collections.abc import Callable
from pathlib import Path
from typing import Any
from unittest.mock import patch

from tests.fuzz.documents import Document
from tests.fuzz.made_shop import made_shop
from tests.fuzz.speaking import Speaking
from tests.unit.made import NOW
from ticketbridge.accept import pdf_facts
from ticketbridge.accept.read import Content, Setting, read
from ticketbridge.accept.readers import choose
from ticketbridge.flow.bridge import read_world
from ticketbridge.flow.deciding import decide
from ticketbridge.flow.meaning import meaning_of
from ticketbridge.flow.moving_out import explanation
from ticketbridge.jdf.safe_xml import parse
from ticketbridge.jdf.writing import as_bytes
from ticketbridge.model.codes import refuses
from ticketbridge.model.finding import Finding
from ticketbridge.report.compose import refused
from ticketbridge.report.return_ticket import mark_refused


class Unsaid(Exception):
    """A document was neither taken nor refused with a finding."""


class AtOnce:
    """In place of the child process: a call goes there and its answer comes back as bytes all the same."""

    def call(self, _limit_s: float, function: Callable[..., Any], *args: Any) -> Any:
        return pickle.loads(pickle.dumps(function(*args)))


class Reader:
    """A shop to read for."""

    def __init__(self, folder: Path) -> None:
        bench = made_shop(folder)
        bridge = bench.start()
        self.shop = bridge.shop
        with bridge.store.transaction() as tx:
            self._states = read_world(bridge, tx).states
        bridge.store.close()
        self._sources = {one.id: one for one in self.shop.settings.sources}
        self._drops = {name: folder / source.folder / "drop" for name, source in self._sources.items()}
        self._speaking = Speaking(
            bench, lambda data: self._orders("mis", "t.jdf", Content(data, _hash(data), len(data)))
        )
        self._pdf = folder / "looked-at.pdf"

    def read(self, document: Document) -> str:
        """Read it as far as it goes. Whatever it is, orders, answers or findings come of it, and no exception.

        Returns ``refused`` or ``taken``; of messages the answers tell.
        """
        findings: tuple[Finding, ...] = ()
        with patch.object(choose, "APART", AtOnce()):
            match document.ending:
                case ".jmf":
                    self._speaking.read_message(document.data)
                case ".mime":
                    self._speaking.post(document.data)
                case ".jdf" if document.source == "press":
                    self._speaking.take_from_press(document.data)
                case ".pdf":
                    findings = self._orders(
                        document.source, "HL-7_3x_Fair banner.pdf", self._pages(document.data)
                    )
                case ending:
                    content = Content(document.data, _hash(document.data), len(document.data))
                    findings = self._orders(document.source, f"fuzz{ending}", content)
        return "refused" if refuses(findings) else "taken"

    def _pages(self, data: bytes) -> Content:
        self._pdf.write_bytes(data)
        try:
            facts: pdf_facts.PdfFacts | pdf_facts.PdfUnfit = pdf_facts.look(self._pdf)
        except pdf_facts.PdfUnfit as unfit:
            facts = unfit
        return Content(b"", _hash(data), len(data), facts, 0)

    def _orders(self, source_id: str, file: str, content: Content) -> tuple[Finding, ...]:
        source, drop = self._sources[source_id], self._drops[source_id]
        mapping = self.shop.mappings[source.mapping]
        roots = [drop.resolve(), drop.parent.resolve() / "artwork"]
        setting = Setting(self.shop.settings, source, mapping, drop, roots, NOW)
        orders = read(content, file, drop / file, setting)
        if not orders:
            raise Unsaid
        said: list[Finding] = []
        for found in orders:
            if found.ticket is None and not refuses(found.findings):
                raise Unsaid(found.findings)
            meaning = meaning_of(found, file, self.shop, source)
            decided = decide(meaning, file=file, shop=self.shop, source=source, states=self._states, now=NOW)
            if not decided.refused and (decided.order is None or None in decided.chosen):
                raise Unsaid(decided.findings)
            said += (*decided.findings, *decided.left_out)
            if decided.refused and source_id == "mis" and found.ticket is not None and file.endswith(".jdf"):
                root = parse(content.data, self.shop.settings.limits, file)
                mark_refused(root, {"1": "It was refused."}, NOW, "fuzz")
                as_bytes(root)
        _say(file, tuple(said))
        return tuple(said)


def _hash(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def _say(file: str, findings: tuple[Finding, ...]) -> None:
    """A code that no table has breaks here."""
    explanation(file, "refused", findings)
    if refuses(findings):
        as_bytes(refused(file, findings, "HL-1", NOW))

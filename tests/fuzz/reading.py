"""The way that a file takes through the bridge until it is decided, and what is said about it, without a store."""

import hashlib
import re
from pathlib import Path
from urllib.parse import unquote

from tests.fuzz.mutate import SEEDS, Document
from tests.unit.flow.bench import BANNER, Bench
from tests.unit.made import NOW
from ticketbridge.accept.read import Content, Setting, read
from ticketbridge.answer.commands import entry_command
from ticketbridge.answer.messages import messages_of
from ticketbridge.demo.orders import artwork
from ticketbridge.flow.bridge import read_world
from ticketbridge.flow.deciding import decide
from ticketbridge.flow.moving_out import explanation
from ticketbridge.hand_over.follow import read_answers, read_signals
from ticketbridge.jdf.check import check
from ticketbridge.jdf.safe_xml import XmlRefused, parse
from ticketbridge.jdf.writing import as_bytes
from ticketbridge.model.codes import refuses
from ticketbridge.model.finding import Finding
from ticketbridge.report.compose import refused
from ticketbridge.report.return_ticket import mark_refused

ARTWORK = re.compile(rb'(?<=[";])(?:[\w%-]+/)*[\w%-]+\.pdf')
"""Of the documents that are spoiled, as they name it: relative to where they are dropped."""


class Reader:
    """A shop to read for."""

    def __init__(self, folder: Path) -> None:
        bench = Bench(folder)
        for places in (bench.source, bench.counter):
            for url in ARTWORK.findall(b"".join(data for _, data in SEEDS)):
                file = places.drop / unquote(url.decode())
                file.parent.mkdir(parents=True, exist_ok=True)
                file.write_bytes(artwork(BANNER))
        bridge = bench.start()
        self.shop = bridge.shop
        with bridge.store.transaction() as tx:
            self.world = read_world(bridge, tx)
        self.drop = bench.source.drop
        bridge.store.close()

    def read(self, document: Document) -> None:
        """Read it as far as it goes. Whatever it is, findings are the answer, and never an exception."""
        ending, data = document
        if ending == ".jmf":
            self._message(data)
        else:
            self._orders(data, f"fuzz{ending}", "counter" if ending == ".csv" else "mis")

    def _orders(self, data: bytes, file: str, source_id: str) -> None:
        source = next(one for one in self.shop.settings.sources if one.id == source_id)
        mapping = self.shop.mappings[source.mapping]
        setting = Setting(self.shop.settings, source, mapping, self.drop, [self.drop.resolve()], NOW)
        for found in read(Content(data, hashlib.sha256(data).hexdigest()), file, self.drop / file, setting):
            decided = decide(
                found, file=file, shop=self.shop, source=source, states=self.world.states, now=NOW
            )
            _say(file, (*decided.findings, *decided.left_out))
            if decided.refused and file.endswith(".jdf") and found.ticket is not None:
                root = parse(data, self.shop.settings.limits, file)
                mark_refused(root, {"1": "It was refused."}, NOW, "fuzz")
                as_bytes(root)

    def _message(self, data: bytes) -> None:
        file = "fuzz.jmf"
        try:
            root = parse(data, self.shop.settings.limits, file)
        except XmlRefused as refusal:
            _say(file, refusal.findings)
            return
        findings = tuple(check(root, file))
        _say(file, findings)
        if not refuses(findings):
            for message in messages_of(root):
                entry_command(message)
            read_signals(root, "HL-P1-A")
            read_answers(root, "HL-P1-A")


def _say(file: str, findings: tuple[Finding, ...]) -> None:
    explanation(file, "refused", findings)
    if refuses(findings):
        as_bytes(refused(file, findings, "HL-1", NOW))

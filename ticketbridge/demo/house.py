"""The demo's folder: a shop, tickets that wait to be dropped, and what the MIS received. Made once, whole or not."""

import shutil
from dataclasses import dataclass
from pathlib import Path

from ticketbridge.config.folders import make_folders
from ticketbridge.config.load import load_shop
from ticketbridge.config.sample import copy_sample_shop
from ticketbridge.demo.files import dropped
from ticketbridge.demo.orders import FILES, ORDERS, Form, artwork
from ticketbridge.spool import durable
from ticketbridge.spool.places import ShopPlaces, SourcePlaces

SOURCES = ("mis", "counter", "pdf-drop")
"""Where files are dropped."""


@dataclass(frozen=True, slots=True)
class House:
    """Where everything of the demo lies."""

    folder: Path

    @property
    def shop(self) -> Path:
        """The shop folder."""
        return self.folder / "shop"

    @property
    def to_drop(self) -> Path:
        """Tickets that the MIS will drop; each leaves by one rename, so a killed demo drops none twice."""
        return self.folder / "mis-to-drop"

    @property
    def received(self) -> Path:
        """JMF that the MIS received by HTTP."""
        return self.folder / "mis-received"

    def source(self, source_id: str) -> SourcePlaces:
        """The hot folders of a source."""
        return ShopPlaces(self.shop).source(f"hotfolders/{source_id}")

    @property
    def bridge_log(self) -> Path:
        """What the bridge told, in one line of JSON each."""
        return self.folder / "run-0.log"

    def press(self, press_id: str) -> Path:
        """The folder of a simulated press."""
        return self.shop / "simulated-press" / press_id

    @property
    def presses(self) -> tuple[str, ...]:
        """The simulated presses."""
        return ("P1", "P2")


def prepare(folder: Path, status_url: str) -> House:
    """The demo's house, made where it is not there yet; its shop posts JMF to that address."""
    folder.mkdir(parents=True, exist_ok=True)
    house = House(folder / "harbourlight")
    if not house.folder.exists():
        unfinished = House(folder / ".unfinished")
        shutil.rmtree(unfinished.folder, ignore_errors=True)
        _build(unfinished)
        durable.move(unfinished.folder, house.folder)
    _set_status_url(house.shop / "shop.yaml", status_url)
    return house


def _build(house: House) -> None:
    copy_sample_shop(house.shop)
    make_folders(load_shop(house.shop))
    quick = "    watch: {scan_s: 1, quiet_s: 0.5, patience_s: 2}\n"
    _change(
        house.shop / "shop.yaml",
        ("patience_s: 30", "patience_s: 2"),
        ("scan_s: 5", "scan_s: 1"),
        ("quiet_s: 2", "quiet_s: 0.5"),
        ("    folder: hotfolders/counter\n", f"    folder: hotfolders/counter\n{quick}"),
        ("    folder: hotfolders/pdf-drop\n", f"    folder: hotfolders/pdf-drop\n{quick}"),
    )
    out_of_stock = "  - {substrate: VINYL-WHITE, lot: V-5120, width_mm: 1372, length_left_m: 50}\n"
    _change(house.shop / "stock.yaml", (out_of_stock, ""))
    house.to_drop.mkdir()
    house.received.mkdir()
    for source_id in SOURCES:
        (house.source(source_id).drop / "art").mkdir()
    for order in ORDERS:
        if order.raw is None and order.form is not Form.ARTWORK:
            art = house.source(order.source).drop / "art"
            (art / f"{order.job_id}.pdf").write_bytes(artwork(order))
    for file_name, order in FILES.items():
        (house.to_drop / file_name).write_bytes(dropped(order))


def _change(file: Path, *changes: tuple[str, str]) -> None:
    text = file.read_text(encoding="utf-8")
    for old, new in changes:
        if old not in text:
            raise AssertionError(f"{file.name} of the sample shop no longer says {old}")
        text = text.replace(old, new)
    file.write_text(text, encoding="utf-8")


def _set_status_url(shop_file: Path, status_url: str) -> None:
    lines = [
        line
        for line in shop_file.read_text(encoding="utf-8").splitlines()
        if not line.startswith("    status_url:")
    ]
    place = lines.index("    mapping: mis")
    lines.insert(place + 1, f"    status_url: {status_url}")
    durable.show_new(shop_file, ("\n".join(lines) + "\n").encode())

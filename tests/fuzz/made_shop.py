"""A shop that takes everything: the sample shop with a source for each export, listening, with jobs at its lanes."""

import io
import re
import zipfile
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import unquote

from tests.fuzz.documents import EXPORTS, SEEDS
from tests.unit.daemon.http.office import listen
from tests.unit.flow.bench import BANNER, CANVAS, Bench
from ticketbridge.config.folders import make_folders
from ticketbridge.config.load import load_shop
from ticketbridge.config.sample import copy_sample_shop
from ticketbridge.demo.orders import artwork
from ticketbridge.flow.intake.accepting import accept

_SOURCE = "\n  - id: {id}\n    name: {id}\n    folder: hotfolders/{id}\n    mapping: {id}\n    bad_lines: take the good\n"
_ARTWORK = re.compile(rb'(?<=[";,>])(?:[\w%-]+/)*[\w%-]+\.pdf')
"""Of the documents that are spoiled, as they name it: relative to where they are dropped."""


def made_shop(folder: Path) -> Bench:
    """Make it, with the artwork of every sound document and two jobs taken in."""
    bench = Bench(folder)
    _add_exports(folder)
    listen(folder)
    make_folders(load_shop(folder))
    for drop in (folder / "hotfolders").glob("*/drop"):
        for name in set(_artwork_named()):
            file = drop / name
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_bytes(artwork(BANNER))
    bridge = bench.restart()
    accept(bridge, [bench.claim(bench.drop(order)) for order in (BANNER, CANVAS)])
    bridge.store.close()
    return bench


def _add_exports(folder: Path) -> None:
    sample = folder / "with-exports"
    for file in copy_sample_shop(sample, exports=True):
        if not (target := folder / file.relative_to(sample)).exists():
            target.parent.mkdir(parents=True, exist_ok=True)
            file.rename(target)
    shop = folder / "shop.yaml"
    shop.write_text(shop.read_text() + "".join(_SOURCE.format(id=name) for name in EXPORTS))


def _artwork_named() -> Iterator[str]:
    for name, documents in SEEDS.items():
        for data in documents:
            for text in _unpacked(data) if name.endswith(".xlsx") else (data,):
                yield from (unquote(found.decode()) for found in _ARTWORK.findall(text))


def _unpacked(data: bytes) -> list[bytes]:
    with zipfile.ZipFile(io.BytesIO(data)) as book:
        return [book.read(name) for name in book.namelist()]

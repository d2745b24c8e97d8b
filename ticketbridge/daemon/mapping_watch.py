"""Notices changed mapping files between two turns of the flow, and lets them go live or says why not.

A mapping with an error never goes live: the one before stays until the error is mended.
"""

import os
from collections.abc import Callable
from pathlib import Path

from ticketbridge.config.files import MAPPINGS_FOLDER
from ticketbridge.config.load import ConfigRefused, LoadedShop, load_shop
from ticketbridge.daemon.logs import Notices
from ticketbridge.flow.bridge import Bridge, ShopFaulty
from ticketbridge.flow.intake.mappings import MappingsUnfit, go_live
from ticketbridge.model.codes import sentence
from ticketbridge.model.mapping_version import hash_of
from ticketbridge.model.shop import Shop
from ticketbridge.spool import kept_mappings

Look = tuple[tuple[str, int, int, int], ...]
"""Name, size, time and inode of every file in the folder of the mappings."""

REFUSED = "a changed mapping is refused, and the one before stays"


def load_anew(folder: Path) -> LoadedShop:
    """The shop folder as it is now.

    Raises:
        ShopFaulty: It has faults; the text is the first of them.
    """
    try:
        return load_shop(folder)
    except ConfigRefused as refusal:
        first = refusal.findings[0]
        raise ShopFaulty(f"{first.place}: {sentence(first)}") from refusal


class MappingWatch:
    """Looks at the folder of the mappings, and keeps each version that goes live.

    Args:
        loaded: The shop as the bridge was started with it.
        bridge: The bridge whose mappings they are.
        changed: Told after other mappings went live.
        notices: Where people read of it.
    """

    def __init__(
        self, loaded: LoadedShop, bridge: Bridge, changed: Callable[[], None], notices: Notices
    ) -> None:
        self._loaded = loaded
        self._bridge = bridge
        self._changed = changed
        self._notices = notices
        self._live = self._before = self._seen()
        self._keep()

    def load_and_keep(self) -> Shop:
        """The shop folder as it is now, which is about to go live as a whole.

        Raises:
            ShopFaulty: It has faults.
        """
        shop = self._load()
        self._keep()
        return shop

    def look(self) -> None:
        """Let changed files go live as soon as two looks in a row find them alike: editors save in several steps."""
        seen = self._seen()
        steady = seen == self._before
        self._before = seen
        if seen == self._live or not steady:
            return
        self._live = seen
        try:
            shop = self._load()
            if self._seen() != seen:
                self._live = ()  # changed while it was read; the next looks see it again
                return
            names = go_live(self._bridge, shop)
            self._keep()
        except (ShopFaulty, MappingsUnfit) as error:
            self._notices.well(REFUSED)  # so that each refusal is told, not only the first
            self._notices.failing(REFUSED, reason=str(error))
            return
        self._notices.well(REFUSED)
        if names:
            self._changed()
            hashes, numbers = shop.mapping_hashes, self._bridge.mapping_numbers
            versions = {name: numbers.get((name, hashes[name])) for name in names if name in hashes}
            self._notices.tell("mapping.live", versions=versions)

    def _load(self) -> Shop:
        self._loaded = load_anew(self._loaded.folder)
        return self._loaded.shop

    def _keep(self) -> None:
        """Keep the version of each mapping, so that it has a number and can be put back."""
        for name, files in self._loaded.mapping_files.items():
            content = kept_mappings.content_of(files)
            version = kept_mappings.keep(self._bridge.places.kept_mappings, name, content)
            self._bridge.mapping_numbers[name, hash_of(content)] = version.number

    def _seen(self) -> Look:
        try:
            with os.scandir(self._loaded.folder / MAPPINGS_FOLDER) as entries:
                files = [entry for entry in entries if entry.is_file() and not entry.name.startswith(".")]
                found = [(entry.name, entry.stat()) for entry in files]
        except OSError:
            return ()
        return tuple(sorted((name, one.st_size, one.st_mtime_ns, one.st_ino) for name, one in found))

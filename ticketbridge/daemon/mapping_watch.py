"""Notices changed mapping files between two turns of the flow, and lets them go live or says why not.

A mapping with an error never goes live: the one before stays until the error is mended.
"""

import os
from collections.abc import Callable
from pathlib import Path

from ticketbridge.daemon.logs import Notices
from ticketbridge.flow.bridge import Bridge, ShopFaulty
from ticketbridge.flow.mappings import MappingsUnfit, go_live
from ticketbridge.model.shop import Shop

Look = tuple[tuple[str, int, int, int], ...]
"""Name, size, time and inode of every file in the folder of the mappings."""

REFUSED = "a changed mapping is refused, and the one before stays"


class MappingWatch:
    """Looks at the folder of the mappings.

    Args:
        folder: That folder.
        bridge: The bridge whose mappings they are.
        load: Reads the shop folder anew; raises ``ShopFaulty`` where it has faults.
        changed: Told after other mappings went live.
        notices: Where people read of it.
    """

    def __init__(
        self,
        folder: Path,
        bridge: Bridge,
        load: Callable[[], Shop],
        changed: Callable[[], None],
        notices: Notices,
    ) -> None:
        self._folder = folder
        self._bridge = bridge
        self._load = load
        self._changed = changed
        self._notices = notices
        self._live = self._before = self._seen()

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

    def _seen(self) -> Look:
        try:
            with os.scandir(self._folder) as entries:
                files = [entry for entry in entries if entry.is_file() and not entry.name.startswith(".")]
                found = [(entry.name, entry.stat()) for entry in files]
        except OSError:
            return ()
        return tuple(sorted((name, one.st_size, one.st_mtime_ns, one.st_ino) for name, one in found))

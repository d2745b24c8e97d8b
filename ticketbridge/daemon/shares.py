"""Which folders of a shop may hang by themselves, so that calls on them go through a gate (``spool.gates``)."""

import os
from collections.abc import Collection
from functools import partial
from pathlib import Path

from ticketbridge.config.load import LoadedShop
from ticketbridge.model.share import LANE, SOURCE, lease_name
from ticketbridge.spool import gates
from ticketbridge.spool.places import ShopPlaces


def guard_shares(loaded: LoadedShop, places: ShopPlaces) -> None:
    """Guard every folder that does not surely lie on the disk of the store.

    Raises:
        OSError: The shop's own folder cannot be looked at.
    """
    gates.forget_all()
    settings = loaded.shop.settings
    for source in settings.sources:
        mine = [places.source(source.folder).folder, loaded.resolved(source.folder)]
        gates.guard(lease_name(SOURCE, source.id), mine)
    for device_id, (_, lane) in loaded.shop.lanes().items():
        folders = [places.lane(lane.folder).folder, loaded.resolved(lane.folder)]
        gates.guard(lease_name(LANE, device_id), folders)
    unmarked = set()
    for source in settings.sources:
        for root in (*source.artwork_roots, *(row.here for row in source.artwork_paths)):
            gates.guard(f"artwork {root}", [places.folder / root, loaded.resolved(root)])
            if (places.folder / root).is_relative_to(places.folder):
                unmarked.add(places.folder / root)
    home = places.state if places.state.is_dir() else places.folder
    gates.follow_links(partial(_is_own, device=home.stat().st_dev, unmarked=unmarked))


def _is_own(folder: Path, device: int, unmarked: Collection[Path]) -> bool:
    """Whether a folder, and what lies in it as folder or link, is on our own device.

    A folder with nothing in it may be one whose share is not mounted yet: folders of sources and lanes hold markers.
    Artwork's have none, and are believed without where they belong to the shop folder.
    """
    with os.scandir(folder) as entries:
        found = [(Path(entry.path), entry.is_dir(), entry.is_symlink()) for entry in entries]
    below = [path for path, is_dir, _ in found if is_dir]
    looked_at = [folder, *(path for path, is_dir, is_link in found if is_dir or is_link)]
    if any(path.stat().st_dev != device for path in looked_at):
        return False
    return folder in unmarked or (bool(found) and all(os.listdir(path) for path in below))

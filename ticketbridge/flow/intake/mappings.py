"""The mappings that a running bridge goes by: changed between two turns, named in every job."""

from collections.abc import Iterator

from ticketbridge.flow.bridge import Bridge
from ticketbridge.model.shop import Shop


class MappingsUnfit(Exception):
    """The changed mappings name something that the running bridge does not know; the text says what."""


def go_live(bridge: Bridge, shop: Shop) -> tuple[str, ...]:
    """Go by the mappings of a shop that was read anew; everything else of the shop stays as it is until a restart.

    Returns:
        The ids of the mappings that are others now.

    Raises:
        MappingsUnfit: They do not fit the catalogue, or the sources, that the bridge was started with.
    """
    for fault in _faults(bridge.shop, shop):
        raise MappingsUnfit(fault)
    names = bridge.shop.mapping_hashes.keys() | shop.mapping_hashes.keys()
    changed = sorted(
        name for name in names if bridge.shop.mapping_hashes.get(name) != shop.mapping_hashes.get(name)
    )
    bridge.use(
        bridge.shop.model_copy(update={"mappings": shop.mappings, "mapping_hashes": shop.mapping_hashes})
    )
    return tuple(changed)


def mapping_version(bridge: Bridge, source_id: str) -> str:
    """The mapping that a source's tickets are read by, with number and hash: ``mis 3 (5f2c0d9b1a7e)``."""
    name = bridge.sources[source_id].mapping
    sha256 = bridge.shop.mapping_hashes.get(name, "")
    number = bridge.mapping_numbers.get((name, sha256))
    return " ".join(part for part in (name, str(number or ""), f"({sha256[:12]})" if sha256 else "") if part)


def _faults(running: Shop, changed: Shop) -> Iterator[str]:
    for source in running.settings.sources:
        if source.mapping not in changed.mappings:
            yield f"the mapping {source.mapping} of source {source.id} is gone"
    for name, mapping in changed.mappings.items():
        substrates = {row.substrate for row in mapping.substrates}
        for substrate in sorted(substrates - running.substrates.keys()):
            yield f"{name} names the substrate {substrate}, which the bridge learns when it is started again"
        for mode in sorted({row.print_mode for row in mapping.print_modes} - running.print_modes.keys()):
            yield f"{name} names the print mode {mode}, which the bridge learns when it is started again"

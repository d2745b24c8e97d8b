"""Refused, then mended: after a fix of mapping or catalogue, refused tickets are taken in again, with what changed."""

from collections.abc import Sequence
from pathlib import Path

from ticketbridge.accept.claim import Claimer
from ticketbridge.flow.accepting import accept
from ticketbridge.flow.bridge import Bridge, ShopFaulty
from ticketbridge.flow.moving_out import NOTE_ENDING
from ticketbridge.model.finding import Finding
from ticketbridge.model.share import SOURCE
from ticketbridge.model.shop import Shop
from ticketbridge.spool import durable
from ticketbridge.spool.places import claimed_name


def retry(bridge: Bridge, names: Sequence[str]) -> tuple[Finding, ...]:
    """Try refused tickets again by the shop folder as it is now.

    Args:
        bridge: The bridge.
        names: Original names of the files; none means all.
    """
    if bridge.reload is not None:
        try:
            shop = bridge.reload()
        except ShopFaulty as error:
            return (Finding("request.shop-faulty", facts={"first": str(error)}),)
        if _places(shop) != _places(bridge.shop):
            return (Finding("request.restart-needed"),)
        bridge.use(shop)
    with bridge.store.transaction() as tx:
        refused = [row for row in tx.refused_intakes() if not names or row["original_name"] in names]
    if not refused:
        return (Finding("request.nothing-refused", facts={"names": ", ".join(names) or "anything"}),)
    return tuple(_again(bridge, row["claim_id"], row["source"], row["original_name"]) for row in refused)


def _places(shop: Shop) -> tuple[object, ...]:
    """What threads were started for."""
    sources = tuple((source.id, source.folder) for source in shop.settings.sources)
    lanes = tuple((device_id, press.id, lane.folder) for device_id, (press, lane) in shop.lanes().items())
    return (sources, lanes)


def _again(bridge: Bridge, claim_id: str, source_id: str, name: str) -> Finding:
    """Move the file back under a new claim, take it in, and tell what it was and what it is."""
    places = bridge.source_places(source_id)
    lying = places.refused / claimed_name(claim_id, name)
    if not lying.is_file():
        with bridge.store.transaction() as tx:
            tx.note_tried_again(claim_id)
        return Finding(
            "request.tried-again", facts={"name": name, "before": "refused", "after": "taken away by hand"}
        )
    if not bridge.share.has(SOURCE, source_id):
        return _dropped_again(bridge, claim_id, lying, places.drop / name)
    claimed = Claimer(source_id, places).take(lying, name, bridge.now())
    with bridge.store.transaction() as tx:
        _, before = tx.intake_outcome(claim_id)
        tx.note_tried_again(claim_id)
    durable.remove_note(lying.with_name(f"{lying.name}{NOTE_ENDING}"))
    for left in accept(bridge, [claimed]):
        accept(bridge, [left])
    with bridge.store.transaction() as tx:
        place, now = tx.intake_outcome(claimed.claim_id)
    after = f"refused again ({_codes(now)})" if place == "refused" else place or "waiting for its artwork"
    return Finding("request.tried-again", facts={"name": name, "before": _codes(before), "after": after})


def _dropped_again(bridge: Bridge, claim_id: str, lying: Path, target: Path) -> Finding:
    """Another bridge serves that source: put the file back into its drop folder, where it is found."""
    facts = {"name": target.name, "folder": str(target.parent)}
    try:
        durable.move(lying, target)
    except durable.NameTaken:
        return Finding("request.drop-taken", facts=facts)
    with bridge.store.transaction() as tx:
        tx.note_tried_again(claim_id)
    durable.remove_note(lying.with_name(f"{lying.name}.findings.txt"))
    return Finding("request.dropped-again", facts=facts)


def _codes(findings: Sequence[Finding]) -> str:
    return ", ".join(dict.fromkeys(finding.code for finding in findings)) or "nothing found"

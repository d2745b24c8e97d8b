"""Refused, then mended: after a fix of mapping or catalogue, refused tickets are taken in again, with what changed.

So are the refused orders of a file of order lines of which others were taken.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from ticketbridge.accept.claim import Claimed, Claimer
from ticketbridge.accept.litter import Kind, kind_of
from ticketbridge.flow.bridge import Bridge, ShopFaulty
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.flow.moving_out import NOTE_ENDING
from ticketbridge.model.finding import Finding
from ticketbridge.model.share import SOURCE
from ticketbridge.model.shop import Shop
from ticketbridge.spool import durable
from ticketbridge.spool.gates import ask
from ticketbridge.spool.places import claim_of, claimed_name


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
    partly = [one for one in _partly_refused(bridge) if not names or one.name in names]
    if not refused and not partly:
        return (Finding("request.nothing-refused", facts={"names": ", ".join(names) or "anything"}),)
    return (
        *(_again(bridge, row["claim_id"], row["source"], row["original_name"]) for row in refused),
        *(_rest_again(bridge, one) for one in partly),
    )


@dataclass(frozen=True, slots=True)
class _Partly:
    """A file of order lines that was taken in, but not all of it; the note beside it says so."""

    source_id: str
    claim_id: str
    name: str
    note: Path

    @property
    def path(self) -> Path:
        return self.note.with_name(self.note.name.removesuffix(NOTE_ENDING))


def _partly_refused(bridge: Bridge) -> Iterator[_Partly]:
    for source_id in bridge.my_sources:
        accepted = bridge.source_places(source_id).accepted
        for note in ask(accepted, partial(_notes, accepted)):
            claim_id, name = claim_of(note.name.removesuffix(NOTE_ENDING))
            one = _Partly(source_id, claim_id, name, note)
            if kind_of(name) is Kind.ORDER_LINES and ask(one.path, one.path.is_file):
                yield one


def _notes(accepted: Path) -> list[Path]:
    return sorted(accepted.glob(f"*{NOTE_ENDING}"))


def _rest_again(bridge: Bridge, one: _Partly) -> Finding:
    """Take a copy in, as the jobs of the file name it where it lies; what was taken of it is only repeated.

    The note goes: what is refused again has one of its own.
    """
    with bridge.store.transaction() as tx:
        _, before = tx.intake_outcome(one.claim_id)
    data = durable.read(one.path, bridge.shop.settings.limits.ticket_bytes)
    claimed = Claimer(one.source_id, bridge.source_places(one.source_id)).name(one.name, bridge.now())
    durable.write_new(claimed.path, data)
    durable.remove_note(one.note)
    return _taken_again(bridge, claimed, before)


def _places(shop: Shop) -> tuple[object, ...]:
    """What threads were started for."""
    sources = tuple((source.id, source.folder) for source in shop.settings.sources)
    lanes = tuple((device_id, press.id, lane.folder) for device_id, (press, lane) in shop.lanes().items())
    return (sources, lanes)


def _again(bridge: Bridge, claim_id: str, source_id: str, name: str) -> Finding:
    """Move the file back under a new claim, take it in, and tell what it was and what it is."""
    places = bridge.source_places(source_id)
    lying = places.refused / claimed_name(claim_id, name)
    if not ask(lying, lying.is_file):
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
    return _taken_again(bridge, claimed, before)


def _taken_again(bridge: Bridge, claimed: Claimed, before: Sequence[Finding]) -> Finding:
    for left in accept(bridge, [claimed]):
        accept(bridge, [left])
    with bridge.store.transaction() as tx:
        place, now = tx.intake_outcome(claimed.claim_id)
    after = f"refused again ({_codes(now)})" if place == "refused" else place or "waiting for its artwork"
    return Finding(
        "request.tried-again", facts={"name": claimed.original_name, "before": _codes(before), "after": after}
    )


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

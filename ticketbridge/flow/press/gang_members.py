"""What a press says of a gang run, as if it had said it of each member."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from ticketbridge.flow.bridge import Bridge, job_at
from ticketbridge.hand_over.follow import DeviceSaid, InkSaid, PhaseSaid, Said, UseSaid
from ticketbridge.hand_over.gang_return import Share, good_amount, member_node, waste_amount
from ticketbridge.jdf.safe_xml import parse
from ticketbridge.jdf.writing import Element
from ticketbridge.model.gang_share import area_shares, owners_in_print_order, shared_pieces, shared_waste
from ticketbridge.model.job import Standing, press_part_id, queue_entry_id_in
from ticketbridge.model.layout import Layout
from ticketbridge.store.transaction import Transaction


@dataclass(frozen=True, slots=True)
class Members:
    """The members of a gang, in the order of its ticket."""

    name: str
    layouts: Mapping[str, Layout]
    standings: Mapping[str, Standing]

    @property
    def owners(self) -> tuple[str, ...]:
        """Whose each piece is, in print order."""
        return owners_in_print_order(self.layouts)

    @property
    def known_waste(self) -> dict[str, float]:
        """What each was told of so far."""
        return {name: standing.waste for name, standing in self.standings.items()}


def members_at(tx: Transaction, device_id: str, press_part: str) -> Members | None:
    """The gang that a press speaks of by its JobPartID; None where it speaks of something else."""
    name = queue_entry_id_in(press_part)
    layouts = tx.gang_members(name)
    standings = {one: tx.standing(one) for one in layouts}
    mine = bool(layouts) and all(one.device_id == device_id and one.given for one in standings.values())
    return Members(name, layouts, standings) if mine else None


def jobs_told_of(bridge: Bridge, tx: Transaction, said: Said) -> list[tuple[Said, Standing]]:
    """The job that a press speaks of, or each member of a gang with its part; empty where it never got it."""
    if isinstance(said, DeviceSaid | InkSaid):
        return []
    members = members_at(tx, said.device_id, said.job_part_id or "")
    if members is not None:
        return _parts(said, members)
    job = job_at(bridge, tx, said.device_id, said.job_part_id or "")
    return [] if job is None else [(said, job)]


def _parts(said: Said, members: Members) -> list[tuple[Said, Standing]]:
    if isinstance(said, DeviceSaid | InkSaid):
        return []
    told: list[tuple[Said, Standing]] = []
    for name, job in members.standings.items():
        part = press_part_id(job.job_part_id, name)
        if isinstance(said, PhaseSaid):
            told.append((_phase(said, job, members), job))
        elif isinstance(said, UseSaid):
            share = area_shares(members.layouts)[name]
            uses = tuple((which, condition, amount * share) for which, condition, amount in said.amounts)
            told.append((replace(said, job_id=job.job_id, job_part_id=part, amounts=uses), job))
        else:
            told.append((replace(said, job_id=job.job_id, job_part_id=part), job))
    return told


def _phase(said: PhaseSaid, job: Standing, members: Members) -> PhaseSaid:
    name, owners = job.queue_entry_id, members.owners
    amount = shared_pieces(said.amount, owners)[name]
    return replace(
        said,
        job_id=job.job_id,
        job_part_id=press_part_id(job.job_part_id, name),
        amount=amount,
        waste=shared_waste(said.waste, said.amount, owners, members.known_waste)[name],
        total_amount=float(job.quantity),
        percent_completed=100 * amount / job.quantity,
    )


def returned_nodes(
    bridge: Bridge, tx: Transaction, root: Element, members: Members
) -> list[tuple[Standing, Element]]:
    """The returned ticket of a gang as a node for each member, with its own pieces and its share of the rest."""
    good = good_amount(root)
    waste = waste_amount(root)
    known = members.known_waste
    if good is not None and waste is not None:
        known = shared_waste(waste, good, members.owners, known)
    shares = area_shares(members.layouts)
    nodes = []
    for name, job in members.standings.items():
        own = parse(tx.gang_ticket(name), bridge.shop.settings.limits, f"{name}.jdf")
        share = Share(name, job.quantity, known[name], shares[name], members.owners)
        nodes.append((job, member_node(own, root, members.name, share)))
    return nodes

"""How many pieces: what the output link says, else what the deliveries add up to."""

from collections.abc import Iterable, Iterator

from ticketbridge.jdf.reading import ItemReading, said_by
from ticketbridge.jdf.spans import Said, Unreadable, ends
from ticketbridge.jdf.writing import Element
from ticketbridge.vocabulary.names import jdf


def add_quantity(item: ItemReading, *, only_item: bool) -> None:
    """Add the quantity, or the finding that there is none.

    Args:
        item: The item.
        only_item: Whether the ticket has no other, so that a delivery that names no component is of this one.
    """
    outputs = item.reading.resources.links(item.node, "Component", "Output")
    amounts = [source for link in outputs for source in amounts_of(link)]
    if not amounts:
        amounts = list(_delivered(item, outputs, only_item=only_item))
    add_amounts(item, amounts, outputs)


def add_amounts(item: ItemReading, amounts: list[Said], outputs: list[Element]) -> None:
    """Add the sum of amounts as the quantity, or the finding that there are none.

    Args:
        item: The item.
        amounts: Texts that hold a number of pieces each.
        outputs: The links of what comes out, to name the place where an amount is missing.
    """
    if not amounts:
        path = f"{item.reading.paths.of(item.node)}/ResourceLinkPool/ComponentLink/@Amount"
        item.reading.find_missing("quantity", outputs[0] if outputs else item.node, path)
        return
    try:
        quantity = sum(ends(source.raw, 1)[0][0] for source in amounts)
    except Unreadable as error:
        item.reading.find_unreadable(amounts[0], "quantity", error)
        return
    if quantity < 1 or quantity != int(quantity):
        item.reading.find("ticket.quantity-not-whole", amounts[0], "quantity")
        return
    item.add("quantity", int(quantity), amounts[0])


def amounts_of(link: Element) -> Iterator[Said]:
    """A link's amount; where it has a pool, the good amounts in it and not its own."""
    pool = link.find(jdf("AmountPool"))
    if pool is None:
        yield from _present([said_by(link, "Amount")])
        return
    for part_amount in pool.iterfind(jdf("PartAmount")):
        conditions = {part.get("Condition") for part in part_amount.iterfind(jdf("Part"))}
        if conditions <= {None, "Good"}:
            yield from _present([said_by(part_amount, "Amount")])


def _delivered(item: ItemReading, outputs: Iterable[Element], *, only_item: bool) -> Iterator[Said]:
    """The amounts of every drop of what this item makes."""
    made = {link.get("rRef") for link in outputs}
    resources = item.reading.resources
    own_delivery = item.intent("DeliveryIntent")
    whole_delivery = resources.used(item.reading.root, "DeliveryIntent")
    for delivery in dict.fromkeys((own_delivery, whole_delivery)):
        if delivery is None:
            continue
        about_this = only_item or delivery is not whole_delivery
        for drop_item in delivery.iterfind(f"{jdf('DropIntent')}/{jdf('DropItemIntent')}"):
            components = {component.get("ID") for component in resources.inside(drop_item, "Component")} - {
                None
            }
            if components & made or (about_this and not components):
                yield from _present([said_by(drop_item, "Amount")])


def _present(sources: Iterable[Said | None]) -> Iterator[Said]:
    return (source for source in sources if source is not None)

"""The order's own values: which job, for whom, when."""

import re
from collections.abc import Iterator
from datetime import datetime
from typing import Final

from ticketbridge.jdf.reading import Reading, said_by
from ticketbridge.jdf.spans import Said, Unreadable, moment_of, said
from ticketbridge.jdf.writing import Element
from ticketbridge.model.ticket import Read
from ticketbridge.vocabulary.names import jdf

_PRIORITY: Final = re.compile(r"\s*\d{1,3}\s*", re.ASCII)
_OF_THE_ROOT: Final = {"job_id": "JobID", "version": "Version", "descriptive_name": "DescriptiveName"}
_OF_THE_CUSTOMER: Final = {"customer_id": "CustomerID", "customer_order_id": "CustomerOrderID"}


def read_order(reading: Reading, items: list[Element]) -> dict[str, Read]:
    """The values of ``ORDER_FIELDS`` that the ticket gives.

    Args:
        reading: The ticket.
        items: Its item nodes, for what the root leaves to them.
    """
    values: dict[str, Read] = {}
    customer = _customer(reading, items)
    for name, attribute in _OF_THE_ROOT.items():
        _add(reading, values, name, said_by(reading.root, attribute))
    for name, attribute in _OF_THE_CUSTOMER.items():
        _add(reading, values, name, said_by(customer, attribute))
    if customer is not None:
        _add(reading, values, "customer_name", _customer_name(reading, customer))
    _add_planning(reading, values, list(dict.fromkeys([reading.root, *items])))
    if "job_id" not in values:
        _add(reading, values, "job_id", _ancestors_job_id(reading))
    if "job_id" not in values:
        reading.find_missing("job's name", reading.root, "/JDF/@JobID")
    return values


def _add(reading: Reading, values: dict[str, Read], name: str, source: Said | None) -> None:
    if source is not None:
        values[name] = reading.read(source.raw.strip(), source)


def _ancestors_job_id(reading: Reading) -> Said | None:
    """The job's name in a part that was spawned off, where the part's own root does not repeat it."""
    ancestors = reading.root.iterfind(f"{jdf('AncestorPool')}/{jdf('Ancestor')}")
    return next((name for ancestor in ancestors if (name := said_by(ancestor, "JobID")) is not None), None)


def _customer(reading: Reading, items: list[Element]) -> Element | None:
    """The root's, else the first among the items, else that of the node that a part was spawned from."""
    for node in dict.fromkeys([reading.root, *items]):
        customer = reading.resources.used(node, "CustomerInfo")
        if customer is not None:
            return customer
    return reading.root.find(f"{jdf('AncestorPool')}/{jdf('Ancestor')}/{jdf('CustomerInfo')}")


def _customer_name(reading: Reading, customer: Element) -> Said | None:
    """The company of the contact that is the customer, else of any contact, else of the customer itself."""
    contacts = list(reading.resources.inside(customer, "Contact"))
    contacts.sort(key=lambda contact: "Customer" not in contact.get("ContactTypes", "").split())
    for holder in [*contacts, customer]:
        for company in reading.resources.inside(holder, "Company"):
            name = said_by(company, "OrganizationName")
            if name is not None:
                return name
    return None


def _add_planning(reading: Reading, values: dict[str, Read], nodes: list[Element]) -> None:
    """Priority and due time: the root's, else the first and the earliest among the items."""
    due: list[tuple[datetime, Said]] = []
    for node in nodes:
        planning = reading.resources.used(node, "NodeInfo")
        priority = said_by(planning, "JobPriority")
        if priority is not None and "priority" not in values and _PRIORITY.fullmatch(priority.raw):
            values["priority"] = reading.read(int(priority.raw), priority)
        found = _due(reading, node, said_by(planning, "LastEnd"))
        if found is not None:
            due.append(found)
            if node is reading.root:
                break
    if due:
        moment, source = min(due, key=lambda one: one[0])
        values["due"] = reading.read(moment, source)


def _due(reading: Reading, node: Element, last_end: Said | None) -> tuple[datetime, Said] | None:
    for source in (last_end, *_required(reading, node)):
        if source is None:
            continue
        try:
            moment = moment_of(source.raw)
        except Unreadable as error:
            reading.find_unreadable(source, "due time", error)
            continue
        if moment is not None:
            return moment, source
    return None


def _required(reading: Reading, node: Element) -> Iterator[Said | None]:
    """When delivery is due, for the whole or for a drop."""
    delivery = reading.resources.used(node, "DeliveryIntent")
    if delivery is not None:
        for path in (jdf("Required"), f"{jdf('DropIntent')}/{jdf('Required')}"):
            yield from (said(span) for span in delivery.iterfind(path))

"""What can be asked of the store and changed in it, inside one transaction."""

from sqlalchemy import inspect

from ticketbridge.store.actuals import ActualStatements
from ticketbridge.store.deliveries import DeliveryStatements
from ticketbridge.store.intake import IntakeStatements
from ticketbridge.store.jobs import JobStatements
from ticketbridge.store.keeping import KeepingStatements
from ticketbridge.store.leases import Lease, Seat, read_board
from ticketbridge.store.messages import MessageStatements
from ticketbridge.store.partners import PartnerStatements
from ticketbridge.store.presses import PressStatements
from ticketbridge.store.rolls import RollStatements
from ticketbridge.store.tables import JOB


class Transaction(
    ActualStatements,
    IntakeStatements,
    JobStatements,
    DeliveryStatements,
    KeepingStatements,
    MessageStatements,
    PartnerStatements,
    PressStatements,
    RollStatements,
):
    """The statements, in the words of the shop. Lives as long as the ``with`` that gave it."""

    def has_tables(self) -> bool:
        """Whether a bridge has ever run on this database."""
        return inspect(self._connection).has_table(JOB.name)

    def bridges(self) -> tuple[list[Seat], list[Lease]]:
        """Every bridge that shares the store, and every lease, by name."""
        return read_board(self._connection)

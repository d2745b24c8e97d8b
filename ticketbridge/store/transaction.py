"""What can be asked of the store and changed in it, inside one transaction."""

from ticketbridge.store.actuals import ActualStatements
from ticketbridge.store.deliveries import DeliveryStatements
from ticketbridge.store.gangs import GangStatements
from ticketbridge.store.intake import IntakeStatements
from ticketbridge.store.jobs import JobStatements
from ticketbridge.store.messages import MessageStatements
from ticketbridge.store.partners import PartnerStatements
from ticketbridge.store.presses import PressStatements
from ticketbridge.store.rolls import RollStatements


class Transaction(
    ActualStatements,
    GangStatements,
    IntakeStatements,
    JobStatements,
    DeliveryStatements,
    MessageStatements,
    PartnerStatements,
    PressStatements,
    RollStatements,
):
    """The statements, in the words of the shop. Lives as long as the ``with`` that gave it."""

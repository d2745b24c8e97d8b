"""What a press posts by HTTP becomes the file that it could have written, and goes the same way from there.

So a positive answer is kept as soon as the file is durable, and there is one reading of what presses say.
"""

import secrets

from ticketbridge.flow.bridge import Bridge
from ticketbridge.jdf.writing import Element, as_bytes
from ticketbridge.spool import durable


def keep_signals(bridge: Bridge, device_id: str, jmf: Element) -> None:
    """Signals and acknowledgements of a lane.

    Raises:
        OSError: The disk does not take them.
        PlaceNotReady: The lane's folder is not there.
    """
    folder = bridge.lane_places(device_id).status
    durable.require_ready(folder)
    durable.write_new(folder / f"{_name(bridge)}.jmf", as_bytes(jmf))


def keep_returned(bridge: Bridge, device_id: str, ticket: bytes) -> None:
    """A ticket that a press gives back.

    Raises:
        OSError: The disk does not take it.
        PlaceNotReady: The lane's folder is not there.
    """
    folder = bridge.lane_places(device_id).returned
    durable.require_ready(folder)
    durable.write_new(folder / f"{_name(bridge)}.jdf", ticket)


def _name(bridge: Bridge) -> str:
    """Files are followed in the order of their names."""
    return f"http-{bridge.now():%Y%m%dT%H%M%S.%f}-{secrets.token_hex(3)}"

"""Telling systemd (sd_notify protocol): ready, alive, stopping. Does nothing where nobody asks."""

import os
import socket


def notify(*lines: str) -> None:
    """Send state lines such as ``READY=1`` to the socket that systemd named."""
    address = os.environ.get("NOTIFY_SOCKET")
    if not address:
        return
    name = "\0" + address[1:] if address.startswith("@") else address
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM | socket.SOCK_CLOEXEC) as channel:
        channel.connect(name)
        channel.sendall("\n".join(lines).encode())


def watchdog_interval_s() -> float | None:
    """How often systemd wants to hear that all is well; half of its limit, as its manual advises."""
    limit_us = os.environ.get("WATCHDOG_USEC")
    return int(limit_us) / 2_000_000 if limit_us else None

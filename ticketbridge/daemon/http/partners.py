"""Who speaks: by address, sign-in or certificate, and SenderID. Who is none of ours is told nothing."""

import binascii
from base64 import b64decode
from collections.abc import Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase
from functools import lru_cache
from ipaddress import ip_address, ip_network

from ticketbridge.daemon.http.passwords import Doorkeeper
from ticketbridge.model.jmf_partner import JmfSender


@dataclass(frozen=True, slots=True)
class Credentials:
    """What a connection shows of who it is.

    Attributes:
        address: Where it comes from.
        authorization: The header, if any.
        certificate: Common name of the client certificate, if any.
    """

    address: str
    authorization: str | None = None
    certificate: str | None = None


class Partners:
    """The configured senders."""

    def __init__(self, senders: Sequence[JmfSender], doorkeeper: Doorkeeper) -> None:
        self._senders = senders
        self._doorkeeper = doorkeeper

    def at_address(self, address: str) -> list[JmfSender]:
        """Those who may speak from there."""
        return [sender for sender in self._senders if _is_from(address, sender.addresses)]

    def signed_in(self, senders: Sequence[JmfSender], shown: Credentials) -> list[JmfSender]:
        """Those of them whose credentials these are. May take a while, as passwords are slow by design."""
        user, password = _basic(shown.authorization)
        known = user is not None and self._doorkeeper.lets_in(user, password)
        return [
            sender
            for sender in senders
            if (sender.user is None or (known and sender.user == user))
            and (sender.certificate is None or sender.certificate == shown.certificate)
        ]


def with_sender_id(senders: Sequence[JmfSender], sender_id: str) -> JmfSender | None:
    """The one that writes this SenderID; the first in the file where several do."""
    fitting = (one for one in senders if any(fnmatchcase(sender_id, mask) for mask in one.sender_ids))
    return next(fitting, None)


@lru_cache(maxsize=1024)
def _is_from(address: str, networks: tuple[str, ...]) -> bool:
    """Asked at each request, of few addresses."""
    try:
        host = ip_address(address)
    except ValueError:
        return False
    mapped = getattr(host, "ipv4_mapped", None)
    return any((mapped or host) in ip_network(network, strict=False) for network in networks)


def _basic(header: str | None) -> tuple[str | None, str]:
    scheme, _, text = (header or "").partition(" ")
    if scheme.casefold() != "basic":
        return None, ""
    try:
        user, colon, password = b64decode(text, validate=True).decode("utf-8").partition(":")
    except (binascii.Error, UnicodeDecodeError):
        return None, ""
    return (user, password) if colon else (None, "")

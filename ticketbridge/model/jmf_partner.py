"""JMF over HTTP as it is configured: where the bridge listens, who may speak to it, and what each may name."""

from ipaddress import ip_network
from typing import Annotated

from pydantic import Field, field_validator, model_validator

from ticketbridge.model.substrate import FromOutside, Identifier, NotNegative, Positive

HttpPrefix = Annotated[str, Field(pattern=r"^https?://")]
"""An address, or the beginning of one up to a slash."""


class JmfSender(FromOutside):
    """One partner that may send messages: the MIS of a source, or a press."""

    id: Identifier
    sender_ids: tuple[str, ...] = Field(min_length=1)
    """``JMF@SenderID`` as the partner writes it; ``*`` stands for any letters."""
    addresses: tuple[str, ...] = Field(default=("127.0.0.1", "::1"), min_length=1)
    """Where it speaks from: addresses, or networks such as 10.1.0.0/16."""
    source: Identifier | None = None
    """The MIS: the source whose tickets it submits, whose jobs it may ask about, and whose mapping counts."""
    lanes: tuple[Identifier, ...] = ()
    """A press: the DeviceIDs of the lanes that it speaks for, instead of a source."""
    user: str | None = None
    """It must sign in by this name (HTTP Basic); the password's hash stands in ``jmf.passwords``."""
    certificate: str | None = None
    """It must show a client certificate with this common name."""
    ticket_folders: tuple[str, ...] = ()
    """Folders that a ticket named by a file URL may lie in, relative to the shop folder or absolute."""
    ticket_urls: tuple[HttpPrefix, ...] = ()
    """Beginnings of addresses that a ticket may be fetched from; nothing else is ever called for one."""
    signal_urls: tuple[HttpPrefix, ...] = ()
    """Beginnings of addresses that this partner may have signals posted to, and finished tickets."""

    @field_validator("addresses")
    @classmethod
    def _are_networks(cls, addresses: tuple[str, ...]) -> tuple[str, ...]:
        for address in addresses:
            try:
                ip_network(address, strict=False)
            except ValueError as error:
                raise ValueError(
                    f"{address} is neither an address nor a network such as 10.1.0.0/16"
                ) from error
        return addresses

    @model_validator(mode="after")
    def _speaks_for_one_side(self) -> "JmfSender":
        if (self.source is None) == (not self.lanes):
            raise ValueError("a sender speaks either for a source or for lanes; give one of them")
        return self


class JmfLimits(FromOutside):
    """What a single message may ask of the machine."""

    package_bytes: Annotated[int, Field(gt=0)] = 2 * 1024**3
    """Largest body of a message, artwork included, before and after unpacking."""
    parts: Annotated[int, Field(gt=0)] = 64
    """Most parts of a package."""
    messages: Annotated[int, Field(gt=0)] = 100
    """Most messages in one JMF."""
    silence_s: Positive = 15
    """A sender that sends nothing for so long in the middle of a message is cut off."""
    receive_s: Positive = 900
    """Longest time for one message to arrive."""
    answer_s: Positive = 60
    """After so long without an outcome the sender is told to ask again later."""
    connections: Annotated[int, Field(gt=0)] = 256
    """Most connections at a time."""
    queue_entries: Annotated[int, Field(gt=0)] = 10_000
    """A queue with so many unfinished entries is Full."""


class JmfEndpoint(FromOutside):
    """JMF by HTTP: absent, the bridge does not listen."""

    host: str = "127.0.0.1"
    """The address to listen on; the default lets only programs on this machine in."""
    port: Annotated[int, Field(ge=0, le=65535)] = 8377
    """0 takes any free one."""
    certificate_file: str | None = None
    """The bridge's own certificate with its chain (PEM), relative to the shop folder; with it, only https is spoken."""
    key_file: str | None = None
    """Its private key (PEM)."""
    client_authority_file: str | None = None
    """Certificates of those who sign client certificates (PEM)."""
    passwords: str | None = None
    """A file with one ``user:hash`` for each line, as ``ticketbridge password`` makes them."""
    senders: tuple[JmfSender, ...] = Field(min_length=1)
    """Who may speak; all others get a refusal that tells nothing."""
    limits: JmfLimits = JmfLimits()
    shortest_repeat_s: NotNegative = 1
    """A subscription that wants to hear more often hears this often."""

    @model_validator(mode="after")
    def _can_tell_who_signs_in(self) -> "JmfEndpoint":
        if any(sender.user for sender in self.senders) and self.passwords is None:
            raise ValueError("a sender has a user, so passwords must name the file with the hashes")
        if any(sender.certificate for sender in self.senders) and self.client_authority_file is None:
            raise ValueError("a sender has a certificate, so client_authority_file must say who signs those")
        if (self.certificate_file is None) != (self.key_file is None):
            raise ValueError("certificate_file and key_file belong together")
        if self.client_authority_file is not None and self.certificate_file is None:
            raise ValueError("client certificates need https: give certificate_file and key_file")
        return self

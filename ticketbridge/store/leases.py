"""Which bridges are there, and which of them serves what: leases with a heartbeat, by the clock of the database.

A bridge joins under a name that is new at each start and beats from then on. One that has not beaten for
``LASTS_S`` may be struck out by any other, and what it served is free. Every writing transaction of a bridge
proves first that its row is still there and keeps it locked until it ends (``prove``). So a slow bridge is
struck out either before such a transaction, which then fails, or after it has ended: never in its middle.

Each method is one statement, or several whose order does no harm when a crash comes between them.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import Connection, Engine, bindparam, case, delete, insert, select, update
from sqlalchemy.exc import IntegrityError
from sqlalchemy.ext.compiler import compiles
from sqlalchemy.sql.functions import FunctionElement
from sqlalchemy.types import Float

from ticketbridge.store.tables import BRIDGE, LEASE

LASTS_S: Final = 15.0
"""A bridge that was not heard of for so long may be struck out."""


class Fenced(Exception):
    """Another bridge took this one for dead and has struck it out: it must write no more. Start it again."""


class now_s(FunctionElement[float]):  # noqa: N801  it is a function of the database
    """Seconds since 1970 by the clock of the database, at this moment and not at the transaction's beginning."""

    type = Float()
    inherit_cache = True


@compiles(now_s, "postgresql")
def _postgresql(_element: now_s, _compiler: Any, **_named: Any) -> str:
    return "CAST(extract(epoch FROM clock_timestamp()) AS double precision)"


@compiles(now_s, "sqlite")
def _sqlite(_element: now_s, _compiler: Any, **_named: Any) -> str:
    return "((julianday('now') - 2440587.5) * 86400.0)"


@dataclass(frozen=True, slots=True)
class Seat:
    """A bridge that has joined.

    Attributes:
        bridge_id: Its name.
        host: The machine it runs on.
        pid: Its process there.
        version: Of the program.
        can_serve: Names of leases whose folders it sees.
        up_s: Seconds since it joined.
        left_s: Seconds until it may be taken for dead; below zero it may be now.
    """

    bridge_id: str
    host: str
    pid: int
    version: str
    can_serve: frozenset[str]
    up_s: float
    left_s: float


@dataclass(frozen=True, slots=True)
class Lease:
    """One thing to serve.

    Attributes:
        name: Its kind and id, such as ``lane HL-P1-A``.
        bridge_id: Who serves it; None where nobody does.
        held_s: Seconds since that one took it.
        takeovers: How often it was taken from a bridge that had died.
    """

    name: str
    bridge_id: str | None
    held_s: float
    takeovers: int


_NOBODY: Final = LEASE.c.bridge_id.is_(None) | LEASE.c.bridge_id.not_in(select(BRIDGE.c.bridge_id))
_PROOF: Final = (
    select(BRIDGE.c.pid)
    .where(BRIDGE.c.bridge_id == bindparam("bridge_id"))
    .with_for_update(read=True, key_share=True)  # holds off the delete that strikes out, and no heartbeat
)


def prove(connection: Connection, bridge_id: str) -> None:
    """See to it that nobody strikes this bridge out before the transaction ends.

    Raises:
        Fenced: Somebody has.
    """
    if connection.execute(_PROOF, {"bridge_id": bridge_id}).first() is None:
        raise Fenced(
            f"this bridge, {bridge_id}, was not heard of for more than {LASTS_S:g} s and another took over"
        )


class Leases:
    """The leases as one bridge works them, on a connection that waits for nobody's turn to write."""

    def __init__(self, engine: Engine, bridge_id: str) -> None:
        self._engine = engine
        self.bridge_id = bridge_id

    def join(self, host: str, pid: int, version: str) -> None:
        """Be one of the bridges from now on."""
        with self._engine.begin() as connection:
            connection.execute(
                insert(BRIDGE).values(
                    bridge_id=self.bridge_id,
                    host=host,
                    pid=pid,
                    version=version,
                    can_serve=[],
                    started_s=now_s(),
                    alive_until_s=now_s() + LASTS_S,
                )
            )

    def beat(self, can_serve: Collection[str]) -> None:
        """Still here, and this is what I could serve.

        Raises:
            Fenced: Another bridge has struck this one out.
        """
        with self._engine.begin() as connection:
            done = connection.execute(
                update(BRIDGE)
                .where(BRIDGE.c.bridge_id == self.bridge_id)
                .values(alive_until_s=now_s() + LASTS_S, can_serve=sorted(can_serve))
            )
        if done.rowcount != 1:
            raise Fenced(f"this bridge, {self.bridge_id}, was struck out by another one")

    def strike_out_dead(self) -> list[str]:
        """Strike out who was not heard of for too long. Skips one that is just writing or being struck out."""
        dead = (
            select(BRIDGE.c.bridge_id)
            .where(BRIDGE.c.alive_until_s < now_s(), BRIDGE.c.bridge_id != self.bridge_id)
            .with_for_update(skip_locked=True)
        )
        with self._engine.begin() as connection:
            gone = connection.execute(
                delete(BRIDGE).where(BRIDGE.c.bridge_id.in_(dead)).returning(BRIDGE.c.bridge_id)
            )
            return sorted(gone.scalars())

    def offer(self, names: Collection[str]) -> None:
        """Make leases for what has none yet."""
        try:
            with self._engine.begin() as connection:
                known = set(connection.execute(select(LEASE.c.name)).scalars())
                rows = [{"name": name, "taken_s": 0.0, "takeovers": 0} for name in sorted(set(names) - known)]
                if rows:
                    connection.execute(insert(LEASE), rows)
        except IntegrityError:
            return  # another bridge makes the same; what is still missing comes with the next beat

    def take(self, names: Collection[str]) -> list[str]:
        """Take those that nobody serves. A row that another bridge is just taking is passed over."""
        free = (
            select(LEASE.c.name)
            .where(LEASE.c.name.in_(sorted(names)), _NOBODY)
            .with_for_update(skip_locked=True)
        )
        with self._engine.begin() as connection:
            taken = connection.execute(
                update(LEASE)
                .where(LEASE.c.name.in_(free), _NOBODY)
                .values(
                    bridge_id=self.bridge_id,
                    taken_s=now_s(),
                    takeovers=LEASE.c.takeovers + case((LEASE.c.bridge_id.is_(None), 0), else_=1),
                )
                .returning(LEASE.c.name)
            )
            return sorted(taken.scalars())

    def give_up(self, names: Collection[str]) -> None:
        """Serve these no longer; another may."""
        with self._engine.begin() as connection:
            connection.execute(
                update(LEASE)
                .where(LEASE.c.name.in_(sorted(names)), LEASE.c.bridge_id == self.bridge_id)
                .values(bridge_id=None)
            )

    def leave(self) -> None:
        """Give everything up and be a bridge no more."""
        with self._engine.begin() as connection:
            connection.execute(
                update(LEASE).where(LEASE.c.bridge_id == self.bridge_id).values(bridge_id=None)
            )
            connection.execute(delete(BRIDGE).where(BRIDGE.c.bridge_id == self.bridge_id))

    def board(self) -> tuple[list[Seat], list[Lease]]:
        """Who is there, and who serves what."""
        with self._engine.begin() as connection:
            return read_board(connection)

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()


def read_board(connection: Connection) -> tuple[list[Seat], list[Lease]]:
    """Every bridge by name, then every lease by name."""
    clock = now_s().label("now_s")
    bridges = connection.execute(select(BRIDGE, clock).order_by(BRIDGE.c.bridge_id)).mappings()
    leases = connection.execute(select(LEASE, clock).order_by(LEASE.c.name)).mappings()
    seats = [_seat(row) for row in bridges]
    present = {seat.bridge_id for seat in seats}
    return seats, [_lease(row, present) for row in leases]


def _seat(row: Mapping[Any, Any]) -> Seat:
    return Seat(
        row["bridge_id"],
        row["host"],
        row["pid"],
        row["version"],
        frozenset(row["can_serve"]),
        row["now_s"] - row["started_s"],
        row["alive_until_s"] - row["now_s"],
    )


def _lease(row: Mapping[Any, Any], present: Collection[str]) -> Lease:
    served_by = row["bridge_id"] if row["bridge_id"] in present else None
    return Lease(row["name"], served_by, row["now_s"] - row["taken_s"], row["takeovers"])

"""Values on their way from a ticket to an order, each with its origin, and what was found wrong with them."""

from collections.abc import Mapping, Sequence
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from ticketbridge.model.codes import refuses
from ticketbridge.model.finding import Finding, Place, type_of_fact
from ticketbridge.model.origin import Origin, Whence
from ticketbridge.model.ticket import Read

Built = TypeVar("Built", bound=BaseModel)


def decided_by(entry: str, said: Mapping[str, Read], fields: Sequence[str] = ()) -> Origin:
    """The origin of a value that an entry of the mapping gave, because of what these fields say."""
    if not fields:
        return Origin(Whence.MAPPING, entry)
    first = said[fields[0]]
    raw = "; ".join(said[field].raw for field in fields)
    by = f"{entry} after {first.rule}" if first.decided else entry
    return Origin(Whence.MAPPING, by, raw, first.path or None, first.line)


def same_words(one: object, other: object) -> bool:
    """Whether two texts are the same without regard to case and to the width of spaces."""
    return " ".join(str(one).split()).casefold() == " ".join(str(other).split()).casefold()


class Gathered:
    """The values of one order, or of one item, as far as they are gathered.

    Args:
        said: What the ticket says of it.
        prefix: What comes before a field's name in the paths of origins: nothing, or ``items[0].``.
        line: Where the item stands, for what it does not say.
    """

    def __init__(self, said: Mapping[str, Read], prefix: str = "", line: int | None = None) -> None:
        self.said = said
        self.values: dict[str, Any] = {}
        self.origins: dict[str, Origin] = {}
        self.findings: list[Finding] = []
        self._prefix = prefix
        self._line = line

    def put(self, field: str, value: object, origin: Origin) -> None:
        """Keep a value under the field's name in the order."""
        self.values[field] = value
        self.origins[self._prefix + field] = origin

    def origin_of(self, field: str) -> Origin:
        """Where a value came from that was kept."""
        return self.origins[self._prefix + field]

    def take(self, *fields: str) -> None:
        """Keep what the ticket says of these fields, where it says anything."""
        for field in fields:
            if read := self.said.get(field):
                self.put(field, read.value, Origin.of(read))

    def take_or(self, field: str, value: object, origin: Origin | None = None) -> None:
        """Keep what the ticket says, or else this value; without an origin it is the program's own."""
        if field in self.said:
            self.take(field)
        else:
            self.put(field, value, origin or Origin(Whence.DEFAULT))

    def demand(self, field: str, where: str) -> None:
        """Keep what the ticket must say; ``where`` tells people the place in the ticket."""
        if field in self.said:
            self.take(field)
        else:
            self.complain("mapping.value-missing", field, field=field, where=where)

    def complain(self, code: str, about: str, **facts: type_of_fact) -> None:
        """Note a finding about a field: at its place in the ticket, or under its name where it has none."""
        self.findings.append(Finding(code, self.place_of(about), facts))

    def place_of(self, field: str) -> Place:
        """Where the ticket speaks of a field."""
        if read := self.said.get(field):
            return Place(line=read.line, path=read.path)
        origin = self.origins.get(self._prefix + field)
        if origin and origin.path:
            return Place(line=origin.line, path=origin.path)
        return Place(line=self._line, path=self._prefix + field)

    def built(self, model: type[Built]) -> Built | None:
        """The model made of the values; None with findings where they do not make one."""
        if refuses(self.findings):
            return None
        try:
            return model(**self.values)
        except ValidationError as error:
            for problem in error.errors(include_url=False, include_context=False):
                self._unfit(str(problem["loc"][0]), str(problem["input"]), problem["msg"])
            return None

    def _unfit(self, field: str, value: str, reason: str) -> None:
        origin = self.origins.get(self._prefix + field)
        said = origin.raw if origin and origin.raw is not None else value
        self.complain("mapping.value-unfit", field, field=field, said=said, reason=reason)


def words(read: Read) -> tuple[str, ...]:
    """The words of a value, of one text or of several."""
    return read.value if isinstance(read.value, tuple) else tuple(str(read.value).split())

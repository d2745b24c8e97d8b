"""One place with three names: as the MIS writes it, as this machine sees it, as the press sees it."""

import re
from typing import Annotated, Final

from pydantic import Field, field_validator

from ticketbridge.model.substrate import FromOutside

_ABSOLUTE: Final = re.compile(r"\\\\|//|/|[A-Za-z]:[\\/]|[A-Za-z][A-Za-z0-9+.-]+:/")


class ArtworkPath(FromOutside):
    """A row of the table of artwork paths; the first that fits wins."""

    mis: Annotated[str, Field(min_length=1)]
    r"""How paths begin in tickets: a Windows share (\\server\art), a drive (X:\art), a file URL, or another URL."""
    here: Annotated[str, Field(min_length=1)]
    """The folder on this machine, relative to the shop folder or absolute. Artwork may lie in it."""
    press: str | None = None
    """How the press's paths begin, in any of these forms; left out, the press sees what this machine sees."""

    @field_validator("mis", "press")
    @classmethod
    def _is_absolute(cls, prefix: str | None) -> str | None:
        if prefix is not None and not _ABSOLUTE.match(prefix):
            raise ValueError(f"{prefix} is no share, drive, URL or absolute path")
        return prefix

"""The sample shop that is shipped along: real files, to try the bridge and to start a shop from."""

import shutil
from pathlib import Path
from typing import Final

import ticketbridge
from ticketbridge.model.finding import Finding, Place

_PACKAGE: Final = Path(ticketbridge.__file__).parent


class SampleRefused(Exception):
    """The sample shop was not written; nothing was changed.

    Attributes:
        finding: Why.
    """

    def __init__(self, finding: Finding) -> None:
        super().__init__(finding.code)
        self.finding = finding


def hotfolders_home() -> Path:
    """Where the sample lies: inside an installed package, or at the top of a checkout."""
    shipped = _PACKAGE / "shipped" / "hotfolders"
    return shipped if shipped.is_dir() else _PACKAGE.parent / "hotfolders"


def copy_sample_shop(folder: Path) -> list[Path]:
    """Writes the files of the sample shop into a new or empty folder.

    Returns:
        The files written, sorted.

    Raises:
        SampleRefused: The folder has something in it already, or is no folder.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise SampleRefused(Finding("config.shop-not-empty", Place(str(folder)), {"folder": str(folder)}))
    sample = hotfolders_home() / "sample-shop"
    written = []
    for file in sorted(sample.rglob("*.yaml")):
        target = folder / file.relative_to(sample)
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(file, target)
        written.append(target)
    return written

"""The sample shop that is shipped along: real files, to try the bridge and to start a shop from."""

import shutil
from pathlib import Path
from typing import Final

import ticketbridge
from ticketbridge.config.editors import EDITOR_FOLDER
from ticketbridge.config.files import MAPPINGS_FOLDER
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
    return _home("hotfolders")


def editor_schemas_home() -> Path:
    """Where the JSON Schemas for editors lie."""
    return _home("schemas") / EDITOR_FOLDER


def _home(name: str) -> Path:
    shipped = _PACKAGE / "shipped" / name
    return shipped if shipped.is_dir() else _PACKAGE.parent / name


def exports_home() -> Path:
    """Where the mappings of six invented exports lie, with their cases."""
    return _home("schemas") / "exports"


def copy_sample_shop(folder: Path, *, exports: bool = False) -> list[Path]:
    """Writes the files of the sample shop into a new or empty folder.

    Args:
        folder: The folder.
        exports: Also the mappings of the six invented exports.

    Returns:
        The files written, sorted.

    Raises:
        SampleRefused: The folder has something in it already, or is no folder.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise SampleRefused(Finding("config.shop-not-empty", Place(str(folder)), {"folder": str(folder)}))
    sample, schemas = hotfolders_home() / "sample-shop", editor_schemas_home()
    files = [(file, folder / file.relative_to(sample)) for file in sorted(sample.rglob("*.yaml"))]
    files += [(file, folder / EDITOR_FOLDER / file.name) for file in sorted(schemas.glob("*.schema.json"))]
    if exports:
        home = exports_home()
        files += [
            (file, folder / MAPPINGS_FOLDER / file.relative_to(home))
            for file in sorted(home.rglob("*"))
            if file.is_file()
        ]
    for file, target in files:
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(file, target)
    return [target for _, target in files]

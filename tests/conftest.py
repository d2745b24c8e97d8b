"""What all tests share: where the outside material lies, and what it means when it does not."""

import os
from pathlib import Path

import pytest

from tests.databases import database, postgres

__all__ = ["database", "postgres"]

ROOT = Path(__file__).resolve().parent.parent


@pytest.fixture(scope="session")
def shared() -> Path:
    """The folder with the standard's schemas and the published values; absent: skip here, fail on CI."""
    folder = Path(os.environ.get("TICKETBRIDGE_SHARED", ROOT.parent / "shared"))
    if folder.is_dir():
        return folder
    reason = f"the outside material is not at {folder}; set TICKETBRIDGE_SHARED to where it is"
    if os.environ.get("CI"):
        pytest.fail(reason)
    pytest.skip(reason)

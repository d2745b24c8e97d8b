"""What all tests share: where the outside material lies, and what it means when it does not."""

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.databases import database, postgres
from tests.stores import FILES, Databases, Stores, choose, chosen

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


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--store",
        choices=["sqlite", "postgres"],
        default="sqlite",
        help="the store of the shops that are turned by hand: a file each, or a PostgreSQL database each",
    )


@pytest.fixture(scope="session")
def databases(request: pytest.FixtureRequest) -> Stores:
    """Who gives each shop a database of its own."""
    return Databases(request.getfixturevalue("postgres"))


@pytest.fixture(autouse=True)
def store_of_the_shops(request: pytest.FixtureRequest) -> Iterator[None]:
    """What ``--store`` asks for, or what the test is about; its databases are taken away after it."""
    only = [name for name in ("store_file", "store_shared") if request.node.get_closest_marker(name)]
    on_postgres = only == ["store_shared"] or request.config.getoption("store") == "postgres"
    if on_postgres and only == ["store_file"]:
        pytest.skip("it is about the file of a SQLite store")
    choose(request.getfixturevalue("databases") if on_postgres else FILES)
    yield
    chosen().let_go()

"""The log of these tests is set up as in the service, so that a trace costs what it costs there."""

import pytest

from ticketbridge.daemon import logs


@pytest.fixture(autouse=True, scope="package")
def log() -> None:
    logs.configure()

"""A shop for each case, copied from one that was made once."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.remedies.scene import Scene
from tests.unit.flow.bench import Bench
from ticketbridge.store.store import open_store


@pytest.fixture(scope="session")
def made_shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample shop with its folders and an empty store, as a bridge leaves it that had nothing to do."""
    bench = Bench(tmp_path_factory.mktemp("made") / "shop")
    open_store(bench.folder / "state" / "bridge.sqlite").close()
    return bench.folder


@pytest.fixture
def scene(made_shop: Path, tmp_path: Path) -> Iterator[Scene]:
    """A shop of its own."""
    shutil.copytree(made_shop, tmp_path / "shop", symlinks=True)
    scene = Scene(tmp_path / "shop")
    yield scene
    scene.stop()

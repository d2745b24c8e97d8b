"""A shop for each case, copied from one that was made once."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.remedies.scene import Scene
from ticketbridge.config.folders import make_folders
from ticketbridge.config.load import load_shop
from ticketbridge.config.sample import copy_sample_shop


@pytest.fixture(scope="session")
def made_shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample shop with its folders, as ``ticketbridge init`` makes it."""
    folder = tmp_path_factory.mktemp("made") / "shop"
    copy_sample_shop(folder)
    make_folders(load_shop(folder))
    (folder / "hotfolders/mis/drop/art").mkdir()
    return folder


@pytest.fixture
def scene(made_shop: Path, tmp_path: Path) -> Iterator[Scene]:
    """A shop of its own."""
    shutil.copytree(made_shop, tmp_path / "shop", symlinks=True)
    scene = Scene(tmp_path / "shop")
    yield scene
    scene.stop()

"""``ticketbridge run``: where a bridge listens, and what it says where that cannot be."""

from pathlib import Path

import pytest
from click.testing import CliRunner

from tests.unit.daemon.http.office import SENDERS
from ticketbridge.cli import main
from ticketbridge.cli.init import init
from ticketbridge.config.load import load_shop
from ticketbridge.daemon.service import at_another_place


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    folder = tmp_path / "shop"
    assert CliRunner().invoke(init, [str(folder)]).exit_code == 0
    return folder


@pytest.mark.parametrize("said", ["8377", ":8377", "here:", "here:there", "here:65536"])
def test_a_place_to_listen_is_a_host_and_a_port(shop: Path, said: str) -> None:
    result = CliRunner().invoke(main, ["run", "--shop", str(shop), "--listen", said])

    assert result.exit_code == 2
    assert "such as 10.1.0.5:8377" in result.output


def test_nobody_is_listened_to_in_a_shop_that_names_no_partners(shop: Path) -> None:
    result = CliRunner().invoke(main, ["run", "--shop", str(shop), "--listen", "127.0.0.1:8377"])

    assert result.exit_code == 1
    assert "Not started: --listen needs the jmf section of shop.yaml" in result.output


def test_one_of_several_bridges_listens_where_it_was_told_to_and_goes_by_the_shop_in_all_else(
    shop: Path,
) -> None:
    settings = shop / "shop.yaml"
    settings.write_text(settings.read_text() + SENDERS.format(more=""))
    loaded = load_shop(shop)

    before, after = (one.shop.settings.jmf for one in (loaded, at_another_place(loaded, "10.1.0.5", 8380)))

    assert before is not None
    assert after == before.model_copy(update={"host": "10.1.0.5", "port": 8380})

"""Six exports of six invented MISs say the same twelve orders, each in its own words, units and form."""

import pytest

from tests.exports.orders import TWELVE
from tests.exports.shop import exports_shop, orders_of, rounded
from tests.exports.write import EXPORTS, HOME, files_of
from ticketbridge.model.shop import Shop


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Shop:
    return exports_shop(tmp_path_factory.mktemp("exports") / "shop")


@pytest.mark.parametrize("export", EXPORTS)
def test_an_export_means_the_twelve_orders(shop: Shop, export: str) -> None:
    files = sorted(
        path for path in (HOME / f"{export}.cases").iterdir() if path.name in files_of(export, TWELVE)
    )
    orders, findings = [], []
    for file in files:
        some, found = orders_of(shop, export, file.name, file.read_bytes())
        orders += some
        findings += found

    assert findings == []
    assert rounded(orders) == rounded(TWELVE)

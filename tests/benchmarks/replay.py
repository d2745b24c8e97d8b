"""How long ``mapping replay`` takes over a thousand past tickets: ``python -m tests.benchmarks.replay``."""

import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path

from tests.exports.orders import TWELVE
from tests.exports.shop import copy_exports_shop
from tests.exports.write import EXPORTS, files_of
from ticketbridge.config.load import load_shop
from ticketbridge.prove.replay import Side, replay

TICKETS = 1000


def main() -> None:
    """Measure each export once: all tickets the same by both mappings, then with a table that changes one in twelve."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "shop"
        copy_exports_shop(folder)
        changed = folder / "mappings" / "mis.yaml"
        shop = load_shop(folder).shop
        text = changed.read_text()
        changed.write_text(text.replace("substrate: WALL300}", "substrate: CANVAS380}"))
        other = load_shop(folder).shop
        for export in EXPORTS:
            past = Path(place) / export
            past.mkdir()
            for number in range(-(-TICKETS // len(TWELVE))):
                some = [order.model_copy(update={"job_id": f"{order.job_id}-{number}"}) for order in TWELVE]
                orders = [[one] for one in some]
                for one in orders:
                    for name, data in files_of(export, one).items():
                        (past / f"{one[0].job_id}-{name}").write_bytes(data)
            files = sorted(past.iterdir())[:TICKETS]
            began = time.perf_counter()
            found = replay(
                files, Side(shop, export), Side(other, export), datetime(2026, 11, 25, tzinfo=UTC), "0"
            )
            print(
                f"{export:12} {found.orders} orders, {len(found.changed)} change, {time.perf_counter() - began:.1f} s"
            )


if __name__ == "__main__":
    main()

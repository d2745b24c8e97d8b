"""Whatever orders an export can express: written, read back by its mapping, they are the same orders."""

from datetime import UTC, date, datetime
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.exports.orders import item as made_item
from tests.exports.shop import exports_shop, orders_of, rounded
from tests.exports.write import EXPORTS, files_of
from tests.unit.made import ESTIMATE, NOW, ORDER, ROLL
from ticketbridge.decide.layout import lay_out
from ticketbridge.decide.layout.marks import marks_on
from ticketbridge.hand_over.lane_ticket import LaneTicket
from ticketbridge.hand_over.write import write_ticket
from ticketbridge.jdf.writing import as_bytes
from ticketbridge.model.finishing import ALL_EDGES, Edge, Eyelets, Finishing, Hem, PolePocket
from ticketbridge.model.layout import Layout
from ticketbridge.model.order import Item, Order, Panels
from ticketbridge.model.pattern import Match, Pattern
from ticketbridge.model.shop import Shop
from ticketbridge.model.substrate import LayerStack

C, WC, CW, CWC = (
    LayerStack.COLOUR,
    LayerStack.WHITE_COLOUR,
    LayerStack.COLOUR_WHITE,
    LayerStack.COLOUR_WHITE_COLOUR,
)
PRINTABLE = [
    ("BAN510", "banner-6", C), ("BAN510", "fast-4", C), ("MESH270", "banner-6", C), ("MESH270", "fast-4", C),
    ("BACKLIT210", "backlit-12", C), ("BACKLIT210", "day-night-12", CWC), ("WINDOW-CLEAR", "white-8", WC),
    ("WINDOW-CLEAR", "white-8", CW), ("WINDOW-CLEAR", "fine-8", C), ("WALL300", "fine-8", C), ("CANVAS380", "fine-8", C),
    ("CANVAS380", "banner-6", C), ("FLAG115", "banner-6", C), ("VINYL-WHITE", "fine-8", C), ("METAL-SILVER", "white-8", WC),
    ("METAL-SILVER", "fine-8", C), ("BLUEBACK115", "fast-4", C), ("BLUEBACK115", "fine-8", C),
]  # fmt: skip
"""Substrate, print mode and layers that the tables of the sample shop lead to."""

names = (
    st.text(st.characters(codec="cp1252", categories=("L", "N", "P", "S", "Zs")), min_size=1, max_size=30)
    .map(lambda text: " ".join(text.split()))
    .filter(bool)
)
tenths_mm = st.integers(100, 60_000).map(lambda tenths: tenths / 10)
edges = st.sets(st.sampled_from(ALL_EDGES), min_size=1).map(lambda some: tuple(e for e in Edge if e in some))
GENERAL = ("estimating", "web-shop", "order-desk", "planning")
"""Exports that can name edges; the tables of the others know a hem all round and two pockets."""


@st.composite
def finishings(draw: st.DrawFn, export: str) -> Finishing:
    hem = st.builds(Hem, width_mm=tenths_mm, edges=edges if export in GENERAL else st.just(ALL_EDGES))
    pocket = (
        st.builds(PolePocket, flat_mm=tenths_mm, edges=edges)
        if export in GENERAL
        else st.sampled_from([PolePocket(flat_mm=80, edges=(edge,)) for edge in (Edge.LEFT, Edge.TOP)])
    )
    eyelets = st.builds(Eyelets, spacing_mm=tenths_mm)
    return Finishing(
        hem=draw(st.none() | hem), pole_pocket=draw(st.none() | pocket), eyelets=draw(st.none() | eyelets)
    )


patterns = st.just(Pattern()) | st.builds(
    Pattern, match=st.sampled_from([Match.STRAIGHT, Match.HALF_DROP]), repeat_mm=tenths_mm
)


@st.composite
def items(draw: st.DrawFn, export: str, part: str) -> Item:
    substrate, mode, layers = draw(st.sampled_from(PRINTABLE))
    more: dict[str, Any] = {"layer_stack": layers, "finishing": draw(finishings(export))}
    if substrate == "WALL300":
        more["pattern"] = draw(patterns)
    return made_item(
        part, draw(names), (draw(tenths_mm), draw(tenths_mm)), draw(st.integers(1, 10_000)), substrate, mode,
        bleed_mm=draw(st.integers(0, 1000)) / 10, may_rotate=draw(st.booleans()),
        panels=draw(st.sampled_from(Panels)), **more,
    ).model_copy(update={"artwork": made_item("1", "x y", (1, 1), 1, substrate, mode).artwork})  # fmt: skip


@st.composite
def orders(draw: st.DrawFn, export: str) -> list[Order]:
    ids = draw(
        st.lists(
            st.from_regex(r"[A-Z0-9][A-Z0-9-]{0,20}", fullmatch=True), min_size=1, max_size=3, unique=True
        )
    )
    made = []
    for job_id in ids:
        some = [draw(items(export, str(part))) for part in range(1, 1 + draw(st.integers(1, 3)))]
        day = draw(st.dates(date(2026, 1, 1), date(2099, 12, 31)))
        title = some[0].descriptive_name if len(some) == 1 else draw(names)  # one JDF node has one name
        made.append(
            Order(
                job_id=job_id,
                descriptive_name=title,
                source="export",
                due=datetime(day.year, day.month, day.day, 23, 59, 59, tzinfo=UTC),
                priority=draw(st.sampled_from([50, 80])),
                customer_id=draw(st.from_regex(r"[A-Z0-9-]{1,12}", fullmatch=True)),
                customer_name=draw(names),
                items=tuple(some),
            )
        )
    return made


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Shop:
    return exports_shop(tmp_path_factory.mktemp("exports") / "shop")


@pytest.mark.parametrize("export", EXPORTS)
@given(data=st.data())
@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)
def test_orders_written_and_read_back_are_the_same(shop: Shop, export: str, data: st.DataObject) -> None:
    written = data.draw(orders(export))

    read, findings = [], []
    for name, content in files_of(export, written).items():
        some, found = orders_of(shop, export, name, content)
        read += some
        findings += found

    assert findings == []
    assert rounded(read) == rounded(written)


def lane_ticket_of(shop: Shop, item: Item) -> bytes | None:
    """The ticket that a lane of 3200 mm would get; None where the item cannot be laid out there."""
    layout = lay_out(item, 3180, 3200, 10, 500, 500)
    if not isinstance(layout, Layout):
        return None
    press = next(iter(shop.presses.values()))
    ticket = LaneTicket(
        queue_entry_id="Q000001",
        order=ORDER.model_copy(update={"items": (item,)}),
        item=item,
        substrate=shop.substrates[item.substrate],
        print_mode=shop.print_modes[item.print_mode],
        press=press,
        lane=press.lanes[0],
        roll=ROLL.model_copy(update={"substrate": item.substrate}),
        layout=layout,
        estimate=ESTIMATE,
        at=NOW,
        agent_version="0.1",
        marks=marks_on(layout, item, ORDER.job_id, "Q000001"),
    )
    return as_bytes(write_ticket(ticket))


@given(written=items("planning", "1"))
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_an_item_written_for_a_lane_means_itself_when_the_ticket_is_read_as_one_of_an_mis(
    shop: Shop, written: Item
) -> None:
    ticket = lane_ticket_of(shop, written)
    if ticket is None:
        return  # no lane of the sample shop can take it

    [order], _ = orders_of(shop, "mis", "lane.jdf", ticket)

    kept = {
        "descriptive_name", "finished_width_mm", "finished_height_mm", "quantity", "bleed_mm", "substrate", "print_mode",
        "layer_stack",
    }  # fmt: skip
    read = order.model_copy(update={"items": (order.items[0],)})
    assert plain(read, kept) == plain(ORDER.model_copy(update={"items": (written,)}), kept)


def plain(order: Order, kept: set[str]) -> dict[str, object]:
    """What a lane's ticket carries of an item, sizes to a micrometre."""
    [item] = rounded([order])[0]["items"]  # type: ignore[misc]
    return {name: value for name, value in item.items() if name in kept}  # type: ignore[attr-defined]

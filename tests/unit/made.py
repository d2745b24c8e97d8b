"""Small made-up things that many tests need."""

from dataclasses import replace
from datetime import UTC, datetime

from ticketbridge.decide.layout import lay_out
from ticketbridge.model.estimate import Estimate
from ticketbridge.model.finishing import Edge, Eyelets, Finishing, Hem, PolePocket
from ticketbridge.model.job import Job, queue_entry_id_of
from ticketbridge.model.layout import Layout, Panel, Placement
from ticketbridge.model.marks import Marks
from ticketbridge.model.order import Artwork, Item, Order
from ticketbridge.model.pattern import Drops, Match, Pattern
from ticketbridge.model.substrate import LayerStack, Roll
from ticketbridge.model.verdict import Answer, LaneVerdict, Verdict

NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
ROLL = Roll(substrate="BAN510", lot="L1", width_mm=1600, length_left_m=50)
ITEM = Item(
    job_part_id="1",
    finished_width_mm=1000,
    finished_height_mm=500,
    quantity=2,
    substrate="BAN510",
    print_mode="banner-6",
    layer_stack=LayerStack.COLOUR,
    artwork=Artwork(url="file:///srv/art/a.pdf", mime_type="application/pdf", sha256="ab" * 32),
)
ORDER = Order(job_id="HL-1", source="mis", due=NOW, items=(ITEM,))
LAYOUT = Layout(
    usable_width_mm=1580,
    roll_width_mm=1600,
    across=1,
    rows=2,
    rotated=False,
    panels=(),
    placements=(Placement(0, 0, 0, 0, 1000, 500, False), Placement(1, 0, 0, 510, 1000, 500, False)),
    length_mm=1010,
    leader_mm=500,
    trailer_mm=500,
    image_left_mm=0,
    image_width_mm=1000,
    piece_area_mm2=1_000_000,
)
PANELS = replace(
    LAYOUT,
    panels=(Panel(0, 0, 510), Panel(1, 490, 510)),
    placements=(
        Placement(0, 0, 0, 0, 510, 500, False),
        Placement(0, 1, 520, 0, 510, 500, False),
        Placement(1, 0, 0, 510, 510, 500, False),
        Placement(1, 1, 520, 510, 510, 500, False),
    ),
)
FINISHED = Finishing(
    hem=Hem(width_mm=30),
    pole_pocket=PolePocket(flat_mm=80, edges=(Edge.TOP,)),
    eyelets=Eyelets(),
    trim=True,
    contour_cut=True,
    laminate="Cold, Front",
)
_MARKED: dict[str, dict[str, object]] = {
    "turned pieces": {"finished_width_mm": 1000, "finished_height_mm": 500},
    "pieces narrower than their barcode": {"finished_width_mm": 60, "may_rotate": False},
    "panels": {"finished_width_mm": 4000, "finished_height_mm": 2000},
    "a mural": {"finished_width_mm": 4000, "pattern": Pattern(), "finishing": Finishing(trim=True)},
    "a straight match": {
        "finished_width_mm": 4000,
        "pattern": Pattern(match=Match.STRAIGHT, repeat_mm=640, strip_mm=530),
        "finishing": Finishing(),
    },
    "a half drop": {
        "finished_width_mm": 4000,
        "pattern": Pattern(match=Match.HALF_DROP, repeat_mm=640, strip_mm=530),
        "finishing": Finishing(),
    },
    "numbered drops of a repeat": {
        "finished_width_mm": 4000,
        "pattern": Pattern(match=Match.HALF_DROP, repeat_mm=640, drops=Drops.NUMBERED, strip_mm=530),
        "finishing": Finishing(),
    },
}
MARKED = {
    what: ITEM.model_copy(update={"bleed_mm": 3.0, "finishing": FINISHED} | changes)
    for what, changes in _MARKED.items()
}
"""Items whose tickets have everything in them: finishing, marks, panels, drops."""

ESTIMATE = Estimate(
    advance_mm=10,
    steps=101,
    step_s=2,
    print_s=202,
    ink_ml={"Cyan": 5.0, "Magenta": 4.0},
    coverage_assumed=True,
    roll_length_mm=2010,
    roll_area_m2=3.216,
    waste_percent=68.9,
)


def with_all_marks(item: Item) -> Layout:
    """Laid out on a roll of 1600 mm in a lane that prints every mark."""
    layout = lay_out(item, 1580, 1600, 10, 500, 500, Marks(slug_line=True, cut=True, eyelets=True))
    assert isinstance(layout, Layout)
    return layout


def job(
    number: int = 1,
    *,
    identity: str = "a",
    job_id: str = "HL-1",
    device_id: str = "HL-P1-A",
    **changes: object,
) -> Job:
    """A job of one item."""
    made = Job(
        number=number,
        queue_entry_id=queue_entry_id_of(number),
        claim_id="claim-1",
        identity=identity,
        item_index=0,
        printing=1,
        revision=1,
        device_id=device_id,
        order=ORDER.model_copy(update={"job_id": job_id}),
        roll=ROLL,
        layout=LAYOUT,
        judged=(LaneVerdict(device_id, (Verdict("width", Answer.CAN, "x.y", {"n": 1.5}),)),),
        estimate=ESTIMATE,
        origins={"job_id": {"whence": "ticket"}},
        submitted_at=NOW,
    )
    return replace(made, **changes)  # type: ignore[arg-type]

"""What cases change in an order's ticket, and a process ticket to change."""

from dataclasses import replace

from tests.remedies.scene import Change, Scene
from tests.unit.flow.bench import BANNER
from tests.unit.jdf.tickets import PROCESS, changed
from ticketbridge.demo.orders import ORDERS, WITH_WHITE, DemoOrder

AGAIN = replace(BANNER, job_id="HL-24117-2", file_name="another.jdf")
"""The same as an order of its own, for where the first was taken with a warning and is at the press."""
BY_NAME = {order.file_name: order for order in ORDERS}
MESH = BY_NAME["13-scaffold-mesh.jdf"]
WINDOW = BY_NAME["05-window.jdf"]
CANVAS = BY_NAME["02-gallery-canvas.jdf"]
WIDE = BY_NAME["03-quay-banner.jdf"]
BOARD = BY_NAME["07-board.jdf"]
SILVER = BY_NAME["11-silver-letters.jdf"]
WALL = BY_NAME["14-mural.jdf"]

ROLL = '<Media ID="m" Class="Consumable" Status="Available" MediaUnit="Roll" Thickness="500"/>'
SAMPLE_ROLL = ROLL.replace("Thickness", 'ProductID="BAN510" Thickness')
LINKED_ROLL = '<MediaLink rRef="m" Usage="Input" CombinedProcessIndex="2"/>'


def replaced(*changes: tuple[str, str]) -> Change:
    """The ticket with words in it changed."""
    return lambda data: changed(data.decode(), *changes).encode()


def how_to_print(scene: Scene, *changes: tuple[str, str]) -> str:
    """Drop a ticket that says how to print, changed so; where it went."""
    (scene.drop_folder() / "a.pdf").write_bytes(b"%PDF-1.7\n%%EOF\n")
    return scene.drop("process.jdf", changed(PROCESS, (ROLL, SAMPLE_ROLL), *changes))


def with_white(order: DemoOrder, layer_stack: str | None = None) -> DemoOrder:
    """The order with white among its separations."""
    return replace(order, separations=WITH_WHITE, layer_stack=layer_stack)

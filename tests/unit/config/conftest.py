"""A small shop with line numbers that a person can count, and the shipped sample."""

from dataclasses import dataclass
from pathlib import Path

import pytest

from ticketbridge.config.load import ConfigRefused, LoadedShop, load_shop
from ticketbridge.config.sample import copy_sample_shop
from ticketbridge.model.finding import Finding

SMALL_SHOP = {
    "shop.yaml": """\
name: Small Shop
sender_id: small-bridge
time_zone: UTC
sources:
  - id: mis
    folder: hot/mis
    mapping: mis
""",
    "substrates.yaml": """\
substrates:
  - id: BANNER
    name: PVC banner
    family: banner
    thickness_um: 500
    weight_g_m2: 510
    widths_mm: [1600, 3200]
    print_modes: [six]
""",
    "print-modes.yaml": """\
print_modes:
  - id: six
    name: Six passes
    resolution_dpi: [600, 600]
    passes: 6
    laydown_ml_m2: {Cyan: 10, Black: 10}
    typical_coverage_percent: {Cyan: 20, Black: 5}
  - id: white
    name: With white
    resolution_dpi: [600, 600]
    passes: 8
    layer_stacks: ["white, colour"]
    laydown_ml_m2: {Cyan: 10, White: 14}
    typical_coverage_percent: {Cyan: 20, White: 60}
""",
    "presses.yaml": """\
presses:
  - id: P1
    name: Press 1
    beam_width_mm: 3300
    head_swath_mm: 64
    carriage_speed_mm_s: 1500
    ramp_mm: 200
    advance_mm:
      six: 10.5
    thickness_um: {min: 80, max: 1500}
    channels: [Cyan, Black, White]
    underlay: {fitted: true, lanes: [A]}
    lanes:
      - id: A
        name: Left
        device_id: DEV-A
        width_mm: 1650
        folder: lanes/A
        roll: {substrate: BANNER, lot: L1, width_mm: 1600, length_left_m: 50}
      - id: B
        name: Right
        device_id: DEV-B
        left_mm: 1650
        width_mm: 1650
        folder: lanes/B
""",
    "stock.yaml": """\
stock:
  - {substrate: BANNER, lot: L2, width_mm: 1600, length_left_m: 50}
""",
    "mappings/mis.yaml": """\
substrates:
  - {media_type: Vinyl, weight_g_m2: [480, 540], substrate: BANNER}
print_modes:
  - {layer_stack: "white, colour", print_mode: white}
  - {family: banner, print_mode: six}
""",
}


@dataclass(frozen=True)
class ShopFolder:
    """A shop folder to spoil."""

    folder: Path

    def replace(self, file: str, old: str, new: str) -> None:
        text = (self.folder / file).read_text()
        assert text.count(old) == 1, f"{old!r} must stand once in {file}"
        (self.folder / file).write_text(text.replace(old, new))

    def write(self, file: str, text: str | bytes) -> None:
        path = self.folder / file
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text if isinstance(text, bytes) else text.encode())

    def load(self) -> LoadedShop:
        return load_shop(self.folder)

    def complaints(self) -> list[Finding]:
        with pytest.raises(ConfigRefused) as refused:
            load_shop(self.folder)
        return list(refused.value.findings)

    def spot(self, finding: Finding) -> str:
        """``file:line:column key`` with the file relative to the shop."""
        return str(finding.place).removeprefix(f"{self.folder}/")


@pytest.fixture
def small_shop(tmp_path: Path) -> ShopFolder:
    """A shop of one press with two lanes, all in order."""
    shop = ShopFolder(tmp_path / "shop")
    for file, text in SMALL_SHOP.items():
        shop.write(file, text)
    return shop


@pytest.fixture(scope="module")
def sample_shop(tmp_path_factory: pytest.TempPathFactory) -> ShopFolder:
    """The shipped sample, copied."""
    folder = tmp_path_factory.mktemp("sample") / "shop"
    copy_sample_shop(folder)
    return ShopFolder(folder)

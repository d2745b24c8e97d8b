"""A gang's ticket, and what goes back for each member, by the official schema, in every version.

Source: the official XSDs of JDF 1.x in the shared folder, read from there.
"""

from pathlib import Path

import pytest
from lxml import etree

from tests.outside.official import invalid, too_new
from tests.unit.flow.bench import Bench
from tests.unit.flow.test_following_a_press import Press, follow_all
from tests.unit.flow.test_gangs import LANE, allow_gangs, take_two
from ticketbridge.vocabulary.names import WRITABLE_VERSIONS


@pytest.mark.parametrize("version", WRITABLE_VERSIONS)
def test_what_the_lane_gets_and_what_each_mis_gets_back_is_valid_and_not_newer(
    shared: Path, tmp_path: Path, version: str
) -> None:
    bench = allow_gangs(Bench(tmp_path / "shop"))
    bench.change("presses.yaml", 'jdf_version: "1.7"', f'jdf_version: "{version}"')
    bench.change(
        "presses.yaml",
        "gap_mm: 10\n",
        "gap_mm: 10\n        marks: {slug_line: true, cut: true, eyelets: true}\n",
    )
    bridge, press = bench.restart(), Press(bench)
    press.change('jdf_version: "1.7"', f'jdf_version: "{version}"')
    take_two(bench, bridge)
    [ticket] = bench.lane(LANE).tickets.glob("*.jdf")
    assert ticket.name == "G000001.jdf"
    assert invalid(shared, ticket) + too_new(shared, etree.parse(ticket).getroot(), version) == []
    (press.folder / "control" / "jam").touch()
    press.work(3000)
    follow_all(bench, bridge)

    returned = sorted(bench.source.returned.glob("*.jdf"))
    assert [path.name for path in returned] == ["Q000001.jdf", "Q000002.jdf"]
    for path in returned:
        assert invalid(shared, path) == []

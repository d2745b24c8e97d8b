"""What made-up names take is given back, and whoever holds an older document does not notice."""

import subprocess
import sys

import pytest
from lxml import etree

from tests.unit.jdf.tickets import ORDER
from ticketbridge.jdf import parser_names
from ticketbridge.jdf.check import check
from ticketbridge.jdf.safe_xml import parse
from ticketbridge.model.shop import Limits

MADE_UP = """
import sys
from ticketbridge.jdf import parser_names
from ticketbridge.jdf.safe_xml import parse
from ticketbridge.model.shop import Limits

def resident_mib():
    return int(open("/proc/self/statm").read().split()[1]) * 4096 / 2**20

def document(number):
    names = (f"<n{number}x{place}{'y' * 1000}/>" for place in range(8_000))
    return f"<JDF>{''.join(names)}</JDF>".encode()

parser_names.FORGOTTEN_AFTER_BYTES = int(sys.argv[1])
seen = []
for number in range(24):
    parse(document(number), Limits(), "made up")
    seen.append(resident_mib())
print(seen[-1] - seen[11])
"""
"""Eight megabytes of names in each document, all of them new."""


def grown_mib(forgotten_after_bytes: int) -> float:
    """How much larger a process became over the second half of such documents."""
    words = [sys.executable, "-c", MADE_UP, str(forgotten_after_bytes)]
    return float(subprocess.run(words, check=True, capture_output=True, text=True).stdout)


def test_made_up_names_do_not_fill_the_memory() -> None:
    assert grown_mib(10**12) > 60  # so that this test would see it
    assert grown_mib(parser_names.FORGOTTEN_AFTER_BYTES) < 30


def test_older_documents_stay_whole_when_names_are_forgotten(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(parser_names, "FORGOTTEN_AFTER_BYTES", 0)
    older = [parse(ORDER.encode(), Limits(), "older") for _ in range(20)]
    newer = parse(ORDER.encode(), Limits(), "newer")

    newer.append(older.pop()[0])  # from one dictionary into another
    assert all(check(one, "older") == [] for one in older)
    assert {etree.tostring(one) for one in older} == {ORDER.strip().encode()}

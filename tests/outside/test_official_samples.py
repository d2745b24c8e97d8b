"""The samples that the standard's own body publishes: all are read, and only what is really wrong is refused."""

from pathlib import Path

import pytest
from lxml import etree

from tests.unit.jdf.tickets import LIMITS
from ticketbridge.jdf import schema_verdict
from ticketbridge.jdf.closed_root import root_is_closed
from ticketbridge.jdf.kinds import kind_of_root
from ticketbridge.jdf.paths import local_name
from ticketbridge.jdf.prune import prune
from ticketbridge.jdf.safe_xml import parse
from ticketbridge.jdf.schema_verdict import schema_messages
from ticketbridge.jdf.validate import validate_document
from ticketbridge.model.codes import refuses
from ticketbridge.model.finding import Finding

LINKS_TO_NOWHERE = {
    "automatedImpositionMarkObject.jdf": "l000006",
    # The next three are published as examples of what is invalid; besides what their names say,
    # their only link points at an ID that is not in the file (README of the outside material).
    "partitioningWithAnInvalidIdenticalElement.jdf": "L1",
    "ptExpMediaWithInvalidMediaRef.jdf": "L41",
    "ptExpMediaWithInvalidPartitioning.jdf": "L1",
}
"""Samples that are refused, each for a reference to an ID that no element has."""

NOT_WELL_FORMED: frozenset[str] = frozenset()
"""Samples of JDF 1.x that no parser reads; there is none."""


@pytest.fixture(scope="module")
def samples(shared: Path) -> list[Path]:
    found = sorted(path for path in (shared / "standards" / "samples" / "jdf").rglob("*") if path.is_file())
    assert len(found) == 121  # README of the outside material
    return found


def findings(path: Path) -> list[Finding]:
    return validate_document(path.read_bytes(), LIMITS, path.name)


def test_every_sample_is_accepted_but_those_with_links_to_nowhere(samples: list[Path]) -> None:
    refused = {path.name for path in samples if refuses(findings(path))}
    assert refused == set(LINKS_TO_NOWHERE) | NOT_WELL_FORMED


def test_links_to_nowhere_are_refused_for_exactly_that(samples: list[Path]) -> None:
    refused = {
        path.name: [
            (finding.code, finding.facts["id"])
            for finding in findings(path)
            if finding.code != BREAK_A_RULE_OF_PARTS.get(path.name)
        ]
        for path in samples
        if path.name in LINKS_TO_NOWHERE
    }
    assert refused == {name: [("ticket.reference-dangling", id_)] for name, id_ in LINKS_TO_NOWHERE.items()}


BREAK_A_RULE_OF_PARTS = {
    "illegalPartition.jdf": "ticket.part-wrong-key",  # a leaf with two keys at once
    "invalidInlinePartitionedMedia.jdf": "ticket.part-wrong-key",  # leaves without their key
    "partitioningWithAnInvalidIdenticalElement.jdf": "ticket.part-wrong-identical",  # as its comment says
    "ptExpMediaWithInvalidPartitioning.jdf": "ticket.part-without-keys",  # parts inside a part
}
"""Samples that are published as wrong partitions. Most keep what is wrong in a namespace of its own, so that no
schema sees it; in the standard's namespace the rule about parts does."""


def test_wrong_partitions_are_refused_once_they_are_in_the_standards_namespace(samples: list[Path]) -> None:
    for path in samples:
        if path.name in BREAK_A_RULE_OF_PARTS:
            data = path.read_bytes().replace(b"JDFSchema_1_1/Invalid", b"JDFSchema_1_1")
            codes = {finding.code for finding in validate_document(data, LIMITS, path.name)}
            assert BREAK_A_RULE_OF_PARTS[path.name] in codes, path.name


def test_every_sample_is_a_whole_file_and_half_of_it_is_not(samples: list[Path]) -> None:
    assert [path.name for path in samples if not root_is_closed(path.read_bytes())] == []
    halves = [path.read_bytes()[: path.stat().st_size // 2] for path in samples]
    assert [half[:80] for half in halves if root_is_closed(half)] == []


def test_the_sample_about_packages_holds_a_ticket_and_no_package(samples: list[Path]) -> None:
    (path,) = [path for path in samples if path.name == "mimeMultipartRelatedJDF.jdf"]
    assert path.read_bytes().startswith(b"<?xml")
    assert findings(path) == []


def test_examples_of_an_invented_shop_are_accepted(shared: Path) -> None:
    examples = sorted((shared / "standards" / "examples").glob("*.j[dm]f"))
    assert len(examples) == 12
    assert {path.name: findings(path) for path in examples} == {path.name: [] for path in examples}


def test_xjdf_is_refused_by_name(shared: Path) -> None:
    for path in (shared / "standards" / "examples").glob("*.x*f"):
        assert [finding.code for finding in findings(path)] == ["xml.wrong-namespace"]


@pytest.mark.parametrize("attribute", ["Status", "ID", "Type", "Class", "Version"])
def test_both_ways_to_ask_lxml_give_one_verdict(
    samples: list[Path], attribute: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Large documents are validated another way; on all samples, right and spoiled, both agree."""
    for path in samples:
        root = parse(path.read_bytes(), LIMITS, path.name)
        for spoiled in (False, True):
            if spoiled:
                for element in root.iter("*"):
                    if attribute in element.attrib:
                        element.set(attribute, "no word!")
            pruned = prune(root, kind_of_root(local_name(root)))
            small = bool(schema_messages(pruned, local_name(root)))
            monkeypatch.setattr(schema_verdict, "LARGE", 0)
            large = bool(schema_messages(pruned, local_name(root)))
            monkeypatch.undo()
            assert small == large, path.name


def test_golden_tickets_are_valid_by_the_official_schema(shared: Path) -> None:
    official = etree.XMLSchema(etree.parse(shared / "standards" / "jdf" / "JDF.xsd"))
    golden = Path(__file__).resolve().parents[1] / "golden"
    for path in sorted(golden.glob("*/*.jdf")):
        official.validate(parse(path.read_bytes(), LIMITS, path.name))
        complaints = [str(entry.message) for entry in official.error_log]
        # A path on a Windows share is no URL; such paths are met, so two golden tickets have one.
        assert [message for message in complaints if "'URL'" not in message] == [], path.name

"""Processes and their indices; what a node has once."""

import pytest

from tests.unit.jdf.tickets import NAMESPACE, ORDER, PROCESS, changed, codes, root_of
from ticketbridge.jdf.check import check
from ticketbridge.model.codes import remedy, sentence


def found(document: str) -> list[str]:
    findings = check(root_of(document), "t.jdf")
    for finding in findings:
        assert sentence(finding)
        assert remedy(finding)
    return codes(findings)


def test_a_right_process_ticket_has_no_findings() -> None:
    assert found(PROCESS) == []


def test_a_combined_node_must_say_what_it_combines() -> None:
    assert found(f'<JDF {NAMESPACE} ID="n" Type="Combined" Status="Waiting"/>') == ["ticket.types-missing"]
    assert found(f'<JDF {NAMESPACE} ID="n" Type="ProcessGroup" Status="Waiting"/>') == []


@pytest.mark.parametrize(
    ("indices", "right"),
    [("0", True), ("2", True), ("0 2", True), ("3", False), ("0 3", False), ("99999999999", False)],
)
def test_a_process_index_is_a_position_in_types(indices: str, right: bool) -> None:
    document = changed(PROCESS, ('rRef="m" Usage="Input" CombinedProcessIndex="2"', f'rRef="m" Usage="Input" CombinedProcessIndex="{indices}"'))  # fmt: skip
    assert found(document) == ([] if right else ["ticket.process-index-beyond"])


def test_an_index_that_somebody_else_hung_beside_the_links_is_theirs() -> None:
    theirs = '<x:Link xmlns:x="urn:x" CombinedProcessIndex="7"/><!-- and a word -->'
    assert found(changed(PROCESS, ("</ResourceLinkPool>", f"{theirs}</ResourceLinkPool>"))) == []


def test_a_group_that_leaves_its_processes_to_its_nodes_bounds_no_index() -> None:
    links = (
        '<ResourceLinkPool><MediaLink rRef="m" Usage="Input" CombinedProcessIndex="7"/></ResourceLinkPool>'
    )
    media = (
        '<ResourcePool><Media ID="m" Class="Consumable" Status="Available" MediaUnit="Roll"/></ResourcePool>'
    )
    assert found(f'<JDF {NAMESPACE} ID="n" Type="ProcessGroup" Status="Waiting">{media}{links}</JDF>') == []


@pytest.mark.parametrize(
    "pool", ["AuditPool", "ResourcePool", "ResourceLinkPool", "StatusPool", "AncestorPool"]
)
def test_a_pool_is_there_once(pool: str) -> None:
    twice = f"<{pool}/>" if pool in ("ResourcePool", "ResourceLinkPool") else f"<{pool}/><{pool}/>"
    assert found(changed(ORDER, ("</JDF>", f"{twice}</JDF>"))) == ["ticket.element-twice"]


@pytest.mark.parametrize("name", ["NodeInfo", "CustomerInfo"])
def test_a_node_is_planned_once_and_has_one_customer(name: str) -> None:
    pooled = f'<{name} ID="x" Class="Parameter" Status="Available"/><{name} ID="y" Class="Parameter" Status="Available"/>'
    link = f'<{name}Link rRef="{{}}" Usage="Input"/>'
    resources = changed(ORDER, ("<ResourcePool>", f"<ResourcePool>{pooled}"))
    one = changed(resources, ("<ResourceLinkPool>", f"<ResourceLinkPool>{link.format('x')}"))
    two = changed(one, ("<ResourceLinkPool>", f"<ResourceLinkPool>{link.format('y')}"))
    assert found(one) == []
    assert found(two) == ["ticket.element-twice"]
    assert found(changed(ORDER, ("<ResourcePool>", f"<{name}/><{name}/><ResourcePool>"))) == ["ticket.element-twice"]  # fmt: skip
    assert found(changed(one, ("<ResourcePool>", f"<{name}/><ResourcePool>"))) == ["ticket.element-twice"]


def test_two_links_to_parts_of_one_plan_are_one_plan() -> None:
    plan = '<NodeInfo ID="x" Class="Parameter" Status="Available" PartIDKeys="Run"><NodeInfo Run="1"/><NodeInfo Run="2"/></NodeInfo>'
    links = "".join(
        f'<NodeInfoLink rRef="x" Usage="Input"><Part Run="{run}"/></NodeInfoLink>' for run in "12"
    )
    document = changed(ORDER, ("<ResourcePool>", f"<ResourcePool>{plan}"), ("<ResourceLinkPool>", f"<ResourceLinkPool>{links}"))  # fmt: skip
    assert found(document) == []

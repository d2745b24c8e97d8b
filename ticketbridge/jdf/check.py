"""Is this a JDF or JMF document that can be relied on? The schema first, then the rules a schema cannot say."""

from collections.abc import Iterator
from itertools import islice
from typing import Final

from ticketbridge.jdf.explain import explain
from ticketbridge.jdf.kinds import kind_of_root
from ticketbridge.jdf.node_rules import check_nodes
from ticketbridge.jdf.partition_rules import check_partitions
from ticketbridge.jdf.paths import local_name
from ticketbridge.jdf.prune import prune
from ticketbridge.jdf.references import check_references
from ticketbridge.jdf.rules import check_rules
from ticketbridge.jdf.schema_verdict import schema_messages
from ticketbridge.jdf.writing import Element
from ticketbridge.model.finding import Finding, Place
from ticketbridge.vocabulary.names import jdf

ROOTS: Final = {jdf("JDF"): "JDF", jdf("JMF"): "JMF"}

FINDINGS_SHOWN: Final = 50
"""A ticket with more findings than this is wrong as a whole; nobody reads the rest, so it is not looked for."""

_OTHER_NAMESPACES: Final = {
    "http://www.CIP4.org/JDFSchema_1": "JDF 1.0",
    "http://www.CIP4.org/JDFSchema_1_0": "JDF 1.0",
    "http://www.CIP4.org/JDFSchema_2_0": "XJDF 2.x",
}


def check(root: Element, file: str, *, spent: bool = False) -> list[Finding]:
    """Everything wrong with a document, and warnings.

    Foreign namespaces, unknown words of the standard and ``xsi:type`` never refuse.

    Args:
        root: Root of the document, as ``safe_xml.parse`` returns it; not changed, unless it is spent.
        file: Its name, for findings.
        spent: Whether nobody needs the document any more: what is not in our vocabulary is then taken out of it,
            where otherwise a copy is looked at.
    """
    name = ROOTS.get(str(root.tag))
    if name is None:
        return [_wrong_root(root, file)]
    findings = list(islice(_findings(root, name, file, spent), FINDINGS_SHOWN + 1))
    if len(findings) > FINDINGS_SHOWN:
        findings[FINDINGS_SHOWN] = Finding("ticket.more-findings", Place(file), {"shown": FINDINGS_SHOWN})
    return findings


def _findings(root: Element, name: str, file: str, spent: bool) -> Iterator[Finding]:
    pruned = prune(root, kind_of_root(name), spent=spent)
    elements = list(root.iter(jdf("*")))  # held, as lxml would else make each of them anew for every rule
    messages = schema_messages(pruned, name)
    if messages:
        yield from explain(pruned, name, messages, file)
    yield from check_references(root, elements, file)
    yield from check_rules(pruned.elements, file)
    yield from check_nodes(elements, file)
    yield from check_partitions(root, file)


def _wrong_root(root: Element, file: str) -> Finding:
    name, namespace = local_name(root), str(root.tag).rpartition("}")[0].removeprefix("{")
    place = Place(file, root.sourceline, path=f"/{name}")
    if namespace in _OTHER_NAMESPACES:
        facts = {"found": namespace, "standard": _OTHER_NAMESPACES[namespace]}
        return Finding("xml.wrong-namespace", place, facts)
    where = f"in the namespace {namespace}" if namespace else "without a namespace"
    return Finding("xml.wrong-root", place, {"found": f"{name} {where}"})

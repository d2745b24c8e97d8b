"""Findings about tickets and messages: their bytes, their words, their references, their values."""

from typing import Final

from ticketbridge.model.finding import Code, Severity

_XML: Final = (
    Code(
        "xml.too-large",
        Severity.ERROR,
        "The file has {size} bytes; at most {limit} are read.",
        "Send artwork beside the ticket, not inside it, or raise ticket_bytes under limits in shop.yaml.",
        3,
    ),
    Code(
        "xml.encoding-not-read",
        Severity.ERROR,
        "The file is written in {encoding}, which is not read.",
        "Write it in one of these: {supported}.",
        3,
    ),
    Code(
        "xml.encoding-contradicted",
        Severity.ERROR,
        "The file says that it is {encoding}, but {contradiction}.",
        "Let the sender write the file in the encoding that its first line names, best UTF-8.",
        3,
    ),
    Code(
        "xml.doctype",
        Severity.ERROR,
        "The file has a DOCTYPE. JDF and JMF have none, and what one may load is not safe.",
        "Let the sender leave it out.",
        3,
    ),
    Code(
        "xml.not-well-formed",
        Severity.ERROR,
        "The file is not well-formed XML: {reason}",
        "Look at the place named; where the file ends too early, send it again whole.",
        3,
    ),
    Code(
        "xml.too-much",
        Severity.ERROR,
        "The file has more than {limit} {what}.",
        "No ticket for a press needs that many. Where this one does, look at limits in shop.yaml.",
        3,
    ),
    Code(
        "xml.wrong-root",
        Severity.ERROR,
        "The root element is {found}; a JDF ticket begins with JDF, a message with JMF.",
        "Send JDF or JMF 1.1 to 1.9. A JDF inside another document must be taken out first.",
        3,
    ),
    Code(
        "xml.wrong-namespace",
        Severity.ERROR,
        "The namespace {found} belongs to {standard}, which is not read.",
        "Set the sender to JDF 1.1 to 1.9, whose namespace is http://www.CIP4.org/JDFSchema_1_1.",
        3,
    ),
)

_WORDS: Final = (
    Code(
        "ticket.attribute-wrong",
        Severity.ERROR,
        '{element} has {attribute}="{found}"; allowed is {allowed}.',
        "Correct the value where the ticket is made.",
        4,
    ),
    Code(
        "ticket.attribute-missing",
        Severity.ERROR,
        "{element} has no {attribute}, which it must have: {allowed}.",
        "Let the sender write it.",
        4,
    ),
    Code(
        "ticket.structure-wrong",
        Severity.ERROR,
        "{element} does not fit the schema: {reason}",
        "Correct it where the ticket is made.",
        4,
    ),
    Code(
        "ticket.more-findings",
        Severity.INFORMATION,
        "Only the first {shown} findings are shown; there are more.",
        "Correct these first, then look again.",
    ),
    Code(
        "ticket.version-not-read",
        Severity.ERROR,
        "{element} says Version {found}; read are {first} to {last}.",
        "Set the sender to a version from {first} to {last}.",
        4,
    ),
    Code(
        "ticket.max-version-below",
        Severity.ERROR,
        "{element} says MaxVersion {max_version}, which is older than its Version {version}.",
        "Let the sender leave MaxVersion out, or set it to its Version or newer.",
        4,
    ),
    Code(
        "ticket.time-without-zone",
        Severity.WARNING,
        "{attribute} of {element} is {found}, without a zone; it is taken as UTC.",
        "Let the sender write the offset, such as 2026-03-09T12:00:00+01:00.",
    ),
    Code(
        "ticket.control-character",
        Severity.ERROR,
        "{attribute} of {element} holds a control character: {found}",
        "Let the sender write it without line breaks and the like; it names the job everywhere.",
        4,
    ),
)

_REFERENCES: Final = (
    Code(
        "ticket.id-twice",
        Severity.ERROR,
        "The ID {id} stands in line {first_line} already; an ID must be the only one in its file.",
        "Let the sender give each element an ID of its own.",
        4,
    ),
    Code(
        "ticket.reference-dangling",
        Severity.ERROR,
        "{element} points at {id}, and no element in the file has that ID.",
        "Let the sender write the resource that is meant, or leave the reference out.",
        203,
    ),
    Code(
        "ticket.reference-wrong-kind",
        Severity.ERROR,
        "{element} points at {id}, which is a {found} and not a {expected}.",
        "Correct the reference, or its name.",
        203,
    ),
    Code(
        "ticket.reference-out-of-sight",
        Severity.ERROR,
        "{element} points at {id} in the pool of another node; a node sees its own pool and those above it.",
        "Move the resource into the pool of a node that holds both.",
        203,
    ),
    Code(
        "ticket.reference-loop",
        Severity.WARNING,
        "The {element} {id} refers to itself, by way of {way}.",
        "Let the sender take one of these references out. Nothing that was read depends on it.",
    ),
)

_NODES: Final = (
    Code(
        "ticket.types-missing",
        Severity.ERROR,
        "The node is Combined and has no Types, so nobody knows which processes it combines.",
        "Let the sender list the processes in Types, in their order.",
        4,
    ),
    Code(
        "ticket.process-index-beyond",
        Severity.ERROR,
        "{element} has CombinedProcessIndex {found}, and its node has {count} processes, counted from 0.",
        "Correct the index, or the node's Types.",
        4,
    ),
    Code(
        "ticket.element-twice",
        Severity.ERROR,
        "The node has {count} times {element}; it may have one.",
        "Let the sender put them together.",
        4,
    ),
    Code(
        "ticket.part-without-keys",
        Severity.ERROR,
        "{element} has parts, and no PartIDKeys that would name their keys.",
        "Let the sender write PartIDKeys at the resource, the outermost key first.",
        4,
    ),
    Code(
        "ticket.part-wrong-key",
        Severity.ERROR,
        "A part of {element} has {found}; at its level {allowed} is meant, alone.",
        "Let each level of parts set one key, in the order of PartIDKeys.",
        4,
    ),
    Code(
        "ticket.part-wrong-identical",
        Severity.ERROR,
        "A part of {element} is Identical to one named by {found}; at its level {allowed} is meant.",
        "Let Identical name a part of the same level.",
        4,
    ),
    Code(
        "ticket.part-twice",
        Severity.ERROR,
        "The part {found} of {element} is there twice.",
        "Let the sender write each part once.",
        4,
    ),
)

_VALUES: Final = (
    Code(
        "ticket.kind-not-read",
        Severity.ERROR,
        "The ticket's root is {found}: it says neither what is wanted nor how to print it.",
        "Let the MIS send product intent (Type Product), or a node with DigitalPrinting in its Type or Types.",
        102,
    ),
    Code(
        "ticket.other-press",
        Severity.ERROR,
        "The {what} is {found}: this is work for another kind of press, not for one that prints from roll to roll.",
        "Send it where it belongs. Where a roll is meant, let the sender say so: MediaUnit Roll, PrintingType WebFed.",
        101,
    ),
    Code(
        "ticket.not-active",
        Severity.ERROR,
        "The node has Activation {found}; what is Active or TestRunAndGo is printed, what is Held is kept.",
        "Send the ticket when its node is Active, or send it as Held to let it wait here.",
        102,
    ),
    Code(
        "ticket.not-waiting",
        Severity.ERROR,
        "The node has Status {found}, so it is at work elsewhere or done.",
        "Send a node that is Waiting or Ready. To print the job again, ask for a reprint.",
        102,
    ),
    Code(
        "ticket.node-left-alone",
        Severity.INFORMATION,
        "The node {node} prints, but is {found}; it is left alone.",
        "Nothing, if that is meant. Else send it again when it is Active and Waiting.",
    ),
    Code(
        "ticket.part-not-there",
        Severity.ERROR,
        "The part {part} of {element} {id} is asked for, and there is none.",
        "Correct the Part, or let the resource have that leaf.",
        200,
    ),
    Code(
        "ticket.part-not-chosen",
        Severity.ERROR,
        "The parts of {what} ({found}) differ in {attribute}, and nothing says which of them is meant.",
        "Let the link name one with a Part, or send a node for each.",
        200,
    ),
    Code(
        "ticket.too-many-parts",
        Severity.ERROR,
        "The ticket's links ask for more than {limit} parts of its resources in all.",
        "Let the sender split the ticket; no job for a press needs that many.",
        200,
    ),
    Code(
        "ticket.media-not-chosen",
        Severity.ERROR,
        "The node takes {count} Media for printing, and a piece is printed on one.",
        "Let CombinedProcessIndex say which of them is printed on, or send a node for each.",
        200,
    ),
    Code(
        "ticket.more-than-one-page",
        Severity.ERROR,
        "The {what} holds {count} ({found}); an item is one page of one file.",
        "Send a node for each page.",
        200,
    ),
    Code(
        "ticket.scaling-not-served",
        Severity.ERROR,
        "The {what} is {found}; artwork is printed at its own size.",
        "Send artwork at full size and leave the scaling out, or write 1 1.",
        200,
    ),
    Code(
        "ticket.no-item",
        Severity.ERROR,
        "No Product node of the ticket has a LayoutIntent or a MediaIntent, so there is nothing to print.",
        "Give each item a Product node that links its LayoutIntent and its MediaIntent.",
        102,
    ),
    Code(
        "ticket.value-missing",
        Severity.ERROR,
        "The ticket does not say the {what}.",
        "Let the sender write it at {path}.",
        201,
    ),
    Code(
        "ticket.value-unreadable",
        Severity.ERROR,
        'The {what} is "{found}", which cannot be read: {allowed} is meant.',
        "Correct the value where the ticket is made.",
        200,
    ),
    Code(
        "ticket.unit-doubtful",
        Severity.ERROR,
        "The {what} is {found}, which would be {value} {unit}: this looks like another unit.",
        "JDF counts lengths in points (1 mm = 2.8346 pt) and thickness in micrometres. Correct the sender's units.",
        200,
    ),
    Code(
        "ticket.quantity-not-whole",
        Severity.ERROR,
        "The quantity is {found}; it must be a whole number of pieces, at least 1.",
        "Let the sender count pieces, not square metres or running metres.",
        200,
    ),
)

CODES: Final[tuple[Code, ...]] = _XML + _WORDS + _REFERENCES + _NODES + _VALUES

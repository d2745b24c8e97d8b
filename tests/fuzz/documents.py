"""Every way in, with sound documents to spoil: what is dropped for each source, what is posted, what a press says."""

import gzip
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Final, NamedTuple

from lxml import etree

from tests.unit.accept.pdfs import pdf
from tests.unit.daemon.http.office import JMF, command, jmf, package, query, submission, submit
from tests.unit.flow.bench import BANNER, COUNTER_HEADINGS, counter_line, status_jmf
from tests.unit.jdf.tickets import GOLDEN, GOLDEN_PROCESS, MESSAGE, ORDER, PROCESS
from ticketbridge.answer.messages import QUERIES
from ticketbridge.demo.orders import ORDERS, artwork, ticket

EXPORTS: Final = ("order-desk", "planning", "estimating", "web-shop", "branch", "reseller")
"""Sources that read their files by the mapping of the same name."""
FEW: Final = 3
_EXPORTS_HOME: Final = Path(__file__).resolve().parents[2] / "schemas" / "exports"


class Document(NamedTuple):
    """A document, named after its source or way and the ending of its kind, such as ``web-shop.json``."""

    name: str
    data: bytes

    @property
    def source(self) -> str:
        return self.name.partition(".")[0]

    @property
    def ending(self) -> str:
        return "." + self.name.rpartition(".")[2]


def _files(folder: Path, ending: str) -> tuple[bytes, ...]:
    return tuple(path.read_bytes() for path in sorted(folder.glob(f"*{ending}")))


def _cases(export: str, ending: str) -> tuple[bytes, ...]:
    return _files(_EXPORTS_HOME / f"{export}.cases", ending)


def _few(export: str, ending: str) -> tuple[bytes, ...]:
    """The orders of an export in documents of a few each, which read quicker and are spoiled more thoroughly."""
    [whole] = _cases(export, ending)
    some: list[bytes] = []
    for first in range(0, 12, FEW):
        kept = slice(first, first + FEW)
        if ending == ".json":
            some.append(json.dumps({"orders": json.loads(whole)["orders"][kept]}, indent=1).encode())
        elif ending == ".csv":
            heading, *lines = whole.splitlines(keepends=True)
            some.append(heading + b"".join(lines[kept]))
        else:
            root = etree.fromstring(whole)
            root[:] = root[kept]
            some.append(etree.tostring(root))
    return tuple(some)


def _counter_lines() -> bytes:
    return "\n".join([COUNTER_HEADINGS, counter_line("HC-1"), counter_line("HC-2", pieces="3")]).encode()


_ENTRY: Final = 'QueueEntryID="Q000001"'
_FILTER: Final = (
    '<QueueFilter QueueEntryDetails="JobPhase" MaxEntries="3" StatusList="Waiting Held" '
    'NewerThan="2026-01-01T00:00:00Z" JobID="HL-24117"><QueueEntryDef QueueEntryID="Q000001"/></QueueFilter>'
)
_CHANNEL: Final = (
    '<Subscription URL="http://127.0.0.1:9/jmf" ChannelMode="Reliable" RepeatTime="5" RepeatStep="1"/>'
)
_ASKED: Final[Mapping[str, str]] = {
    "KnownMessages": '<KnownMsgQuParams ListSignals="true" ListQueries="false"/>',
    "KnownDevices": '<DeviceFilter DeviceDetails="Full"><Device DeviceID="HL-P1-A"/></DeviceFilter>',
    "KnownSubscriptions": '<SubscriptionFilter MessageTypes="Status QueueStatus" URL="http://127.0.0.1:9/jmf"/>',
    "QueueStatus": _CHANNEL + _FILTER,
    "Status": f'{_CHANNEL}<StatusQuParams DeviceDetails="Full" JobDetails="Full" QueueInfo="true" {_ENTRY}/>',
    "Resource": f'<ResourceQuParams ResourceName="Media Ink" Scope="Job" {_ENTRY}/>',
    "FlushQueue": f"<FlushQueueParams>{_FILTER}</FlushQueueParams>",
    "Notification": f'{_CHANNEL}<NotificationFilter SignalTypes="Error Event"/>',
}
_TOLD: Final[Mapping[str, str]] = {
    "HoldQueueEntry": f"<HoldQueueEntryParams>{_FILTER}</HoldQueueEntryParams>",
    "ResumeQueueEntry": f"<QueueEntryDef {_ENTRY}/>",
    "SuspendQueueEntry": f"<SuspendQueueEntryParams>{_FILTER}</SuspendQueueEntryParams>",
    "AbortQueueEntry": f'<AbortQueueEntryParams EndStatus="Completed">{_FILTER}</AbortQueueEntryParams>',
    "RemoveQueueEntry": f"<QueueEntryDef {_ENTRY}/>",
    "SetQueueEntryPriority": f'<QueueEntryPriParams Priority="90" {_ENTRY}/>',
    "SetQueueEntryPosition": f'<QueueEntryPosParams Position="0" NextQueueEntryID="Q000002" {_ENTRY}/>',
    "OpenQueue": "",
    "CloseQueue": "",
    "HoldQueue": "",
    "ResumeQueue": "",
    "FlushQueue": f"<FlushQueueParams>{_FILTER}</FlushQueueParams>",
    "StopPersistentChannel": '<StopPersChParams ChannelID="ch1" URL="http://127.0.0.1:9/jmf"/>',
    "ResubmitQueueEntry": f'<ResubmissionParams {_ENTRY} URL="cid:ticket"/>',
}
_PHASE: Final = (
    '<DeviceInfo DeviceID="HL-P1-A" DeviceStatus="Running" StatusDetails="Ripping"><JobPhase JobID="HL-24117" '
    'JobPartID="1.Q000001" Status="InProgress" StatusDetails="Pass 2" Amount="2" Waste="1" TotalAmount="4" '
    'PercentCompleted="50" RestTime="PT20M" StartTime="2026-11-25T08:00:00Z" '
    'PhaseStartTime="2026-11-25T08:30:00+00:00"/></DeviceInfo>'
)
_SAID: Final = (
    (
        '<Signal xsi:type="SignalNotification" ID="s1" Type="Notification">'
        '<Notification Class="Warning" TimeStamp="2026-11-25T09:00:00Z" JobID="HL-24117" JobPartID="1.Q000001"><Event EventID="ink-low"/>'
        "<Comment>Cyan is low.</Comment></Notification></Signal>"
    ),
    (
        '<Signal xsi:type="SignalResource" ID="s2" Type="Resource">'
        '<ResourceQuParams JobID="HL-24117" JobPartID="1.Q000001"/><ResourceInfo ResourceName="Ink" Unit="l" '
        'ActualAmount="0.2" Level="Low"/></Signal>'
    ),
    (
        '<Signal xsi:type="SignalQueueStatus" ID="s3" Type="QueueStatus"><Queue DeviceID="HL-P1-A" Status="Running">'
        '<QueueEntry QueueEntryID="P1" JobID="HL-24117" JobPartID="1.Q000001" Status="Running"/></Queue></Signal>'
    ),
    '<Acknowledge ID="a1" refID="c1" Type="AbortQueueEntry" ReturnCode="0"/>',
    (
        '<Response xsi:type="ResponseStatus" ID="r1" refID="q1" Type="Status" ReturnCode="0">'
        f"{_PHASE}</Response>"
    ),
)


_SCOPES: Final = (f' Scope="Estimate" {_ENTRY}', ' Scope="Device"', ' JobID="HL-24117"', "")
_INK: Final = (
    '<Signal xsi:type="SignalResource" ID="s8" Type="Resource"><ResourceQuParams JobID="HL-24117" '
    'JobPartID="1.Q000001"/><ResourceInfo ResourceName="Ink" DeviceID="HL-P1-A" Unit="l" Level="Low" '
    'AvailableAmount="0.2"><AmountPool><PartAmount ActualAmount="0.042"><Part Separation="Cyan" '
    'Condition="Good"/></PartAmount></AmountPool><Ink ID="i" Class="Consumable" Status="InUse"/></ResourceInfo></Signal>'
    '<Signal xsi:type="SignalResource" ID="s7" Type="Resource"><ResourceInfo ResourceName="Ink" DeviceID="HL-P1-A" '
    'Unit="l" Level="OK" AvailableAmount="2"><Part Separation="Black"/><Ink ID="j" Class="Consumable" '
    'Status="Available"/></ResourceInfo></Signal>'
)


def _messages() -> tuple[bytes, ...]:
    return (
        MESSAGE.encode(),
        jmf(submit(), query("QueueStatus"), query("KnownDevices", message_id="q2")),
        *(jmf(query(kind, _ASKED.get(kind, ""))) for kind in QUERIES),
        *(jmf(command(kind, content)) for kind, content in _TOLD.items()),
        *(jmf(query("Resource", f"<ResourceQuParams{more}/>")) for more in _SCOPES),
        jmf(f'<Signal xsi:type="SignalStatus" ID="s9" Type="Status">{_PHASE}</Signal>', sender="press-1"),
        jmf(_INK, sender="press-1"),
        jmf(*_SAID[:3], sender="press-1"),
        jmf(*_SAID[3:], sender="press-1", device_id="HL-P1-A"),
        jmf(command("ReturnQueueEntry", f'<ReturnQueueEntryParams {_ENTRY} URL="cid:t"/>'), sender="press-1"),
        status_jmf("HL-P1-A", ("HL-24117", "1.Q000001"), "InProgress", 2, 4, "m1"),
    )


def posted(body: bytes, content_type: str, *, squeezed: bool = False) -> bytes:
    """A body below the head of its request, which is spoiled with it."""
    head = f"Content-Type: {content_type}\r\n" + ("Content-Encoding: gzip\r\n" if squeezed else "")
    return head.encode() + b"\r\n" + (gzip.compress(body, mtime=0) if squeezed else body)


def _posts() -> tuple[bytes, ...]:
    quoted = b"--=b=\r\nContent-Type: text/xml\r\nContent-Transfer-Encoding: quoted-printable\r\n\r\n"
    coded = b"--=b=\nContent-Type: application/pdf; name=a.pdf\nContent-ID: <art>\nContent-Transfer-Encoding: base64\n\n"
    plain = jmf(submit(Hold="true", Priority="80")).replace(b"=", b"=3D")
    body = quoted + plain + b"\r\n" + coded + b"JVBERi0xLjYK\n--=b=--\n"
    ticket_alone = package(("jmf", JMF, jmf(submit())), ("ticket", "text/xml", ORDER.encode()))
    back = command("ReturnQueueEntry", f'<ReturnQueueEntryParams {_ENTRY} URL="cid:t"/>')
    returned = package(("jmf", JMF, jmf(back, sender="press-1")), ("t", "text/xml", PROCESS.encode()))
    return (
        posted(*submission()),
        posted(body, ticket_alone[1]),
        posted(*ticket_alone),
        posted(*ticket_alone, squeezed=True),
        posted(*returned),
        posted(jmf(query("QueueStatus", _FILTER)), JMF, squeezed=True),
    )


def _pages() -> tuple[bytes, ...]:
    boxes = "/MediaBox [0 0 720 360] /CropBox [0 0 720 360] /TrimBox [10 10 710 350] /BleedBox [5 5 715 355]"
    return (
        artwork(BANNER),
        pdf(boxes + " /Rotate 90 /UserUnit 2", "/MediaBox [0 0 100 100]"),
        pdf("/Rotate -90", root="/OpenAction 3 0 R /Names << /JavaScript 3 0 R >>", tree="/MediaBox [720 0 0 360]"),
    )  # fmt: skip


SEEDS: Final[Mapping[str, tuple[bytes, ...]]] = {
    "mis.jdf": (
        *_files(GOLDEN, ".jdf"),
        *_files(GOLDEN_PROCESS, ".jdf"),
        *(ticket(order) for order in ORDERS if order.raw is None),
        ORDER.encode(),
        PROCESS.encode(),
    ),
    "order-desk.jdf": _cases("order-desk", ".jdf"),
    "planning.jdf": _cases("planning", ".jdf"),
    "estimating.xml": _few("estimating", ".xml"),
    "web-shop.json": _few("web-shop", ".json"),
    "branch.csv": _few("branch", ".csv"),
    "counter.csv": (_counter_lines(),),
    "reseller.xlsx": _cases("reseller", ".xlsx"),
    "pdf-drop.pdf": _pages(),
    "message.jmf": _messages(),
    "press.jdf": (
        PROCESS.replace('JobPartID="1"', 'JobPartID="1.Q000001"').replace("Waiting", "Completed").encode(),
        PROCESS.replace('JobPartID="1"', 'JobPartID="1.Q000001"').replace("Waiting", "Aborted").encode(),
    ),
    "package.mime": _posts(),
}
"""Sound documents by their names."""

SHARES: Final[Mapping[str, int]] = {
    "mis.jdf": 6, "order-desk.jdf": 2, "planning.jdf": 2, "estimating.xml": 2, "web-shop.json": 2, "branch.csv": 1,
    "counter.csv": 1, "reseller.xlsx": 1, "pdf-drop.pdf": 1, "message.jmf": 4, "press.jdf": 1, "package.mime": 2,
}  # fmt: skip
"""Of how many documents each way in gets how many."""

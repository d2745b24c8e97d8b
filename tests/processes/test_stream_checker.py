"""The judge of a stream can object: one small true story, and what becomes of it when somebody has meddled with it."""

import base64
import json
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.processes.checker import PLACES, SOURCES
from tests.processes.stream_checker import POSTED_TO_THE_DEAD, WAY, faults
from ticketbridge.demo.orders import BANNER, ticket

JMF = "application/vnd.cip4-jmf+xml"
NAMESPACE = "http://www.CIP4.org/JDFSchema_1_1"
ENTRY, JOB = "Q000001", BANNER.job_id


def document(number: int, *contents: str) -> bytes:
    signals = "".join(
        f'<Signal ID="S{number:08d}-{place}">{content}</Signal>' for place, content in enumerate(contents)
    )
    return f'<JMF xmlns="{NAMESPACE}">{signals}</JMF>'.encode()


def state(name: str) -> str:
    return f'<Queue><QueueEntry QueueEntryID="{ENTRY}" Status="{name}"/></Queue>'


def phase(amount: int) -> str:
    return f'<DeviceInfo><JobPhase QueueEntryID="{ENTRY}" Amount="{amount}"/></DeviceInfo>'


BACK = f'<ReturnQueueEntryParams QueueEntryID="{ENTRY}"/>'
TAKEN = f'<Notification><Event EventID="TicketAccepted" EventValue="{ENTRY}"/></Notification>'
TOLD = [
    document(1, TAKEN, state("Waiting")),
    document(2, state("Running")),
    document(3, phase(1)),
    document(4, phase(3)),
    document(5, state("PendingReturn")),
    document(6, state("Completed"), BACK),
]


class Told:
    """A house in which one ticket went all the way."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.mis = folder, folder / "shop" / "hotfolders" / "mis"
        for source in SOURCES:
            for place in (*PLACES, "status", "returned"):
                (self.mis.with_name(source) / place).mkdir(parents=True)
        (self.mis / "accepted" / f"c1~{JOB}.jdf").write_bytes(ticket(BANNER))
        (self.mis / "returned" / f"{ENTRY}.jdf").write_bytes(ticket(BANNER))
        self.log = folder / "shop" / "simulated-press" / "P1" / "print-log.jsonl"
        self.log.parent.mkdir(parents=True)
        self.prints = [
            {"job_id": JOB, "serial": "P1-1", "index": index, "tile": None, "x_mm": 0, "y_mm": 1500 * index}
            for index in range(3)
        ]
        self.posts = [("/all", JMF, body) for body in TOLD]
        self.files = list(TOLD)

    def faults(self, *, submitted: bool = False, speaking: tuple[str, ...] = ()) -> list[str]:
        self.log.write_text("".join(json.dumps(row) + "\n" for row in self.prints))
        rows = [
            {"path": path, "type": kind, "body": base64.b64encode(body).decode()}
            for path, kind, body in self.posts
        ]
        journal = self.folder / "journal.jsonl"
        journal.write_text("".join(json.dumps(row) + "\n" for row in rows))
        for number, body in enumerate(self.files, 1):
            (self.mis / "status" / f"{number:08d}.jmf").write_bytes(body)
        names = [] if submitted else [f"{JOB}.jdf"]
        return faults(self.folder, names, {JOB: ENTRY} if submitted else {}, speaking=speaking)

    def bring_back(self) -> None:
        jmf = document(1, BACK).replace(b'"S', b'"R')
        parts = b"".join(b"--b\r\nContent-ID: <x>\r\n\r\n" + part + b"\r\n" for part in (jmf, ticket(BANNER)))
        self.posts.append(("/returns", "multipart/related; boundary=b", parts + b"--b--\r\n"))

    def retell(self, *contents: tuple[str, ...]) -> None:
        """Another story, told alike to the subscriber and the status folder."""
        self.files = [document(number, *told) for number, told in enumerate(contents, 1)]
        self.posts = [("/all", JMF, body) for body in self.files]


@pytest.fixture
def told(tmp_path: Path) -> Told:
    return Told(tmp_path)


def test_a_true_story_is_without_fault(told: Told) -> None:
    assert told.faults() == []


def test_what_comes_again_as_it_was_is_no_fault(told: Told) -> None:
    told.posts[4:4] = told.posts[1:4]
    assert told.faults() == []


def test_a_submitted_ticket_that_came_back_is_no_fault(told: Told) -> None:
    told.bring_back()
    told.bring_back()  # the same bytes under the same ID: a repeat
    assert told.faults(submitted=True) == []


def swap_two(told: Told) -> None:
    told.posts[1], told.posts[2] = told.posts[2], told.posts[1]


def lose_one(told: Told) -> None:
    del told.posts[2]


def lose_the_last(told: Told) -> None:
    del told.posts[-1]


def change_a_repeat(told: Told) -> None:
    told.posts.append(("/all", JMF, TOLD[3].replace(b"3", b"2")))


def tell_otherwise(told: Told) -> None:
    told.posts[3] = ("/all", JMF, document(4, phase(2)))


def print_nothing(told: Told) -> None:
    told.prints = []


def lose_a_piece(told: Told) -> None:
    del told.prints[-1]


def print_a_piece_twice(told: Told) -> None:
    told.prints.append(told.prints[0])


def deliver_twice(told: Told) -> None:
    told.prints += [row | {"serial": "P1-2"} for row in told.prints]


def print_what_nobody_ordered(told: Told) -> None:
    told.prints.append(told.prints[0] | {"job_id": "HL-0"})


def take_twice(told: Told) -> None:
    (told.mis / "accepted" / f"c2~{JOB}.jdf").write_bytes(ticket(BANNER))


def leave_a_claim(told: Told) -> None:
    (told.mis / "claimed" / f"c1~{JOB}.jdf").write_bytes(ticket(BANNER))


def lose_the_ticket(told: Told) -> None:
    (told.mis / "accepted" / f"c1~{JOB}.jdf").unlink()


def refuse_besides(told: Told) -> None:
    (told.mis / "refused" / f"c2~{JOB}.jdf").write_bytes(ticket(BANNER))


def return_twice(told: Told) -> None:
    (told.mis / "returned" / "Q000002.jdf").write_bytes(ticket(BANNER))


@pytest.mark.parametrize(
    ("meddle", "objection"),
    [
        (swap_two, "/all: document 3 came when 2 was next"),
        (lose_one, "/all: document 4 came when 3 was next"),
        (lose_the_last, "5 documents were told, and 6 lie in the status folder"),
        (change_a_repeat, "/all: document 4 came again and says something else"),
        (tell_otherwise, "4 was told otherwise"),
        (print_nothing, f"{JOB} reached the press 0 times: []"),
        (lose_a_piece, f"{JOB}: 2 placements for 3 pieces of 1 tiles"),
        (print_a_piece_twice, f"{JOB}: placements [0, 0, 1, 2]"),
        (deliver_twice, f"{JOB} reached the press 2 times: ['P1-1', 'P1-2']"),
        (print_what_nobody_ordered, "HL-0 was printed and never accepted"),
        (take_twice, f"{JOB} was taken 2 times"),
        (leave_a_claim, f"c1~{JOB}.jdf was left lying"),
        (refuse_besides, f"c2~{JOB}.jdf was refused"),
        (lose_the_ticket, f"{JOB} was taken 0 times"),
        (return_twice, f"{JOB} was returned 2 times"),
    ],
)
def test_the_judge_objects(told: Told, meddle: Callable[[Told], None], objection: str) -> None:
    meddle(told)
    assert objection in told.faults()


@pytest.mark.parametrize(
    ("contents", "objection"),
    [
        ([(TAKEN, TAKEN), *((state(name),) for name in WAY), (BACK,)], "told 2 times that it was taken"),
        ([(TAKEN,), *((state(name),) for name in WAY)], "told 0 times that its ticket is back"),
        ([(TAKEN,), (state("Waiting"),), (state("Completed"),), (BACK,)], "its states were told as"),
        ([(TAKEN,), *((state(name),) for name in (*WAY, "Running")), (BACK,)], "its states were told as"),
        (
            [(TAKEN,), *((state(name),) for name in WAY[:3]), (BACK,), (state(WAY[3]),)],
            "before it was completed",
        ),
        (
            [(TAKEN,), *((state(name),) for name in WAY), (phase(3),), (phase(2),), (BACK,)],
            "its amounts were told as",
        ),
    ],
)
def test_the_judge_knows_what_ought_to_be_told_of_a_job(
    told: Told, contents: list[tuple[str, ...]], objection: str
) -> None:
    told.retell(*contents)
    assert [fault for fault in told.faults() if objection in fault]


def test_of_a_press_that_speaks_the_middle_may_be_untold_but_never_the_end(told: Told) -> None:
    middle_away = [state for state in WAY if state not in POSTED_TO_THE_DEAD]
    told.retell((TAKEN,), *((state(name),) for name in middle_away), (BACK,))
    assert told.faults(speaking=("P1",)) == []

    told.retell((TAKEN,), *((state(name),) for name in WAY[:3]), (BACK,))
    assert f"{JOB}: its states were told as {list(WAY[:3])}" in told.faults(speaking=("P1",))


def test_the_judge_wants_submissions_to_come_back_once(told: Told) -> None:
    assert told.faults(submitted=True) == [f"{JOB} came back 0 times"]

"""A press that takes its tickets by message: what goes wrong with it, then as the remedy wants it."""

from collections import deque
from collections.abc import Iterator
from dataclasses import replace

from tests.remedies.changes import BANNER
from tests.remedies.provokes import provokes
from tests.remedies.scene import Scene
from tests.unit.daemon.press_bench import FakePress, JmfBench
from ticketbridge.demo.orders import DemoOrder
from ticketbridge.flow.lane.releasing import release_waiting
from ticketbridge.model.submission import Submission

Steps = Iterator[None]


class MadeJmfBench(JmfBench):
    """A bench in a shop folder that is there already, whose press 1 speaks JMF from now on."""

    def __post_init__(self) -> None:
        self.configure("{url: http://press-1.example/jmf, answer_url: http://bridge.example/jmf}")


def _by_message(scene: Scene, *troubles: str) -> MadeJmfBench:
    """One order, whose way to the press goes as said once the four channels are open."""
    bench = MadeJmfBench(scene.folder, press=FakePress(troubles=deque(["", "", "", "", *troubles])))
    scene.bench = bench
    assert scene.order() == "accepted"
    scene.heard.clear()
    _talk(scene, bench)
    return bench


def _talk(scene: Scene, bench: MadeJmfBench) -> None:
    told = len(bench.notices)
    release_waiting(scene.bridge)
    bench.talk(bench.line(scene.bridge), 30)
    scene._hear_notices(told)
    scene.well = True


@provokes("press.refused", "then resume the job: `ticketbridge jobs resume Q000001`")
def test_a_press_that_refuses_a_ticket(scene: Scene) -> Steps:
    bench = _by_message(scene, "101")
    yield
    scene.follow("`ticketbridge jobs resume Q000001`")
    _talk(scene, bench)
    assert len(bench.press.entries) == 1


@provokes("press.in-doubt", "where it is there, `ticketbridge jobs delivered Q000001`")
def test_a_press_that_cannot_say_whether_it_has_a_ticket(scene: Scene) -> Steps:
    bench = MadeJmfBench(scene.folder, press=FakePress(tells_queue=False))
    bench.press.troubles = deque(["", "", "", "", "lost"])
    scene.bench = bench
    assert scene.order() == "accepted"
    scene.heard.clear()
    _talk(scene, bench)
    yield
    assert len(bench.press.entries) == 1, "it is there"
    scene.follow("`ticketbridge jobs delivered Q000001`")
    _talk(scene, bench)
    assert len(bench.press.entries) == 1


@provokes("request.passed-on", "`ticketbridge jobs show Q000001` shows the answer when it has come")
def test_a_command_about_a_job_at_the_press(scene: Scene) -> Steps:
    bench = _by_message(scene)
    scene.command("jobs hold Q000001")
    yield
    _talk(scene, bench)
    assert "the press answered" in scene.follow("`ticketbridge jobs show Q000001`")


def _returned(scene: Scene, order: DemoOrder) -> None:
    """An order that was submitted with a ReturnJMF is finished and comes back."""
    scene.order(order)
    [job] = [one for one in scene.jobs() if one.job_id == order.job_id]
    with scene.bridge.store.transaction() as tx:
        said = Submission("order desk", "m1", return_jmf="http://mis.example/jmf")
        tx.add_submission(tx.job(job.queue_entry_id).claim_id, said)
    scene.print_all()


@provokes("return.not-configured", "add the address to signal_urls of the sender in shop.yaml")
def test_a_ticket_that_is_to_go_where_nobody_said(scene: Scene) -> Steps:
    _returned(scene, BANNER)
    yield
    urls = "      signal_urls: ['http://mis.example']"
    lines = [
        "jmf:",
        "  senders:",
        "    - id: mis",
        "      sender_ids: [order desk]",
        "      source: mis",
        urls,
    ]
    with (scene.folder / "shop.yaml").open("a") as file:
        file.write("\n".join(["", *lines, ""]))
    scene.stop()
    scene.bench.notices.clear()  # the log of the bridge that ran before
    _returned(scene, replace(BANNER, job_id="HL-2", file_name="2.jdf"))
    with scene.bridge.store.transaction() as tx:
        assert [one.file_name for one in tx.unsent("mis.returns", 0, 9)] == ["Q000002.mjm"]

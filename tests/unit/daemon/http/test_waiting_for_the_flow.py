"""Who submits a ticket waits for the flow: for so long as is allowed, and not for one that has ended."""

import threading
import time
from pathlib import Path

from tests.unit.daemon.http.office import Said, open_office
from ticketbridge.model.jmf_partner import JmfLimits

BUSY = "10"


def test_whoever_waits_for_a_flow_that_has_ended_is_told_to_ask_again_and_not_hung_up_on(
    tmp_path: Path,
) -> None:
    with open_office(tmp_path / "shop") as office:
        office.flow.stop()
        time.sleep(0.1)
        answers: list[Said] = []
        asking = threading.Thread(target=lambda: answers.append(office.submit()))
        asking.start()
        while not office.desk.bridge.awaited:
            time.sleep(0.01)

        office.desk.give_up()
        asking.join(JmfLimits().answer_s / 2)

        assert [answer.codes for answer in answers] == [[BUSY]]
        assert office.submit().codes == [BUSY]
        assert len(office.at(office.bench.source.claimed)) == 1, "only the first was laid down"


def test_a_submitter_that_waits_no_more_does_not_keep_the_flow_from_its_ticket(tmp_path: Path) -> None:
    with open_office(tmp_path / "shop", "  limits: {answer_s: 0.5}") as office:
        busy = office.flow.do(lambda _: time.sleep(2))
        assert office.submit().codes == [BUSY]
        busy.result()
        while not office.at(office.bench.source.accepted):
            time.sleep(0.01)

        assert office.submit().codes == ["0"]
        assert not office.flow._at_fault
        assert len(office.at(office.bench.source.repeated)) == 1

"""The laws of the model: states, retries, findings, names."""

from string import Formatter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ticketbridge.model.codes import CODES, printable, remedy, sentence
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.job import press_part_id, queue_entry_id_in
from ticketbridge.model.job_states import FINAL, TRANSITIONS, State, Step, after
from ticketbridge.model.retry import LONGEST_S, SHORTEST_S, given_up, wait_s


@pytest.mark.parametrize("state", State)
@pytest.mark.parametrize("step", Step)
def test_every_state_and_step_has_an_answer_and_nothing_leaves_a_final_state(
    state: State, step: Step
) -> None:
    follows = after(state, step)

    assert follows is None or (state, step) in TRANSITIONS
    assert not (state in FINAL and follows is not None)


@given(st.lists(st.sampled_from(Step), max_size=30))
def test_whatever_happens_a_job_ends_in_one_final_state_and_stays_there(steps: list[Step]) -> None:
    state, ended = State.WAITING, False
    for step in steps:
        follows = after(state, step)
        assert not (ended and follows is not None)
        state = follows or state
        ended = ended or state in FINAL


@given(st.floats(0, 1e9))
def test_the_wait_grows_with_the_age_between_its_bounds(age_s: float) -> None:
    assert SHORTEST_S <= wait_s(age_s) <= LONGEST_S
    assert wait_s(age_s) <= wait_s(age_s + 1)


def test_giving_up_goes_by_days() -> None:
    assert not given_up(5 * 86_400, 5)
    assert given_up(5 * 86_400 + 1, 5)


@pytest.mark.parametrize("code", CODES.values(), ids=lambda code: code.code)
def test_a_code_is_an_area_and_a_word_and_its_sentences_are_whole(code: object) -> None:
    row = CODES[code.code]  # type: ignore[attr-defined]
    facts = {
        name: "x" for text in (row.sentence, row.remedy) for _, name, _, _ in Formatter().parse(text) if name
    }
    finding = Finding(row.code, facts=facts)

    assert row.code.count(".") == 1
    assert row.code == row.code.lower()
    assert sentence(finding).rstrip()[-1] in ".?:)!" or row.sentence.endswith("}")
    assert remedy(finding)


def test_a_finding_comes_back_from_the_store_as_it_was() -> None:
    finding = Finding("artwork.missing", Place("a", 1, 2, "/x"), {"url": "u", "path": None, "n": 1.5})

    assert Finding.from_json(finding.as_json()) == finding


def test_control_and_direction_marks_are_shown_escaped() -> None:
    assert printable("a\r\n\x1b[31m\u202eb") == "a\\r\\n\\x1b[31m\\u202eb"


@given(
    st.text(st.characters(min_codepoint=33, max_codepoint=126), min_size=1, max_size=63),
    st.integers(1, 999_999),
)
def test_a_press_s_part_id_fits_and_gives_back_the_queue_entry(part: str, number: int) -> None:
    name = press_part_id(part, f"Q{number:06d}")

    assert len(name) <= 63
    assert queue_entry_id_in(name) == f"Q{number:06d}"


@pytest.mark.parametrize(
    ("minutes", "shown"), [(5.4, "5 min"), (119.0, "119 min"), (150.0, "2.5 h"), (5760.0, "4 days")]
)
def test_long_times_are_said_as_a_person_says_them(minutes: float, shown: str) -> None:
    facts = {"finished_in_minutes": minutes, "spare_minutes": 1.0, "due": "soon"}

    assert (
        sentence(Finding("lanes.due-ok", facts=facts))
        == f"Finished in {shown}, 1 min before it is due (soon)."
    )

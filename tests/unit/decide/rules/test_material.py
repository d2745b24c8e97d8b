"""Rules about what is printed on, and with what."""

from collections.abc import Callable
from typing import Any

import pytest

from ticketbridge.decide.rules import RULES, LaneQuestion, Rule
from ticketbridge.decide.rules.material import ink_left, layers, mesh, roll_fed, substrate_known, thickness
from ticketbridge.model.codes import remedy, sentence
from ticketbridge.model.verdict import Answer, Verdict

Ask = Callable[..., LaneQuestion]


def spoken(verdict: Verdict) -> tuple[Answer, str]:
    """Answer and code; on the way it is seen that the facts fill the sentence and the remedy."""
    assert sentence(verdict.as_finding())
    assert remedy(verdict.as_finding())
    return verdict.answer, verdict.code


def test_a_known_substrate_in_an_allowed_mode_can_be_printed(ask: Ask) -> None:
    assert spoken(substrate_known(ask())) == (Answer.CAN, "lanes.substrate-ok")


def test_an_unknown_substrate_waits_for_the_catalogue(ask: Ask) -> None:
    verdict = substrate_known(ask(substrate=None))
    assert spoken(verdict) == (Answer.NOT_UNTIL, "lanes.substrate-unknown")


def test_an_unknown_mode_waits_for_the_catalogue(ask: Ask) -> None:
    verdict = substrate_known(ask(print_mode=None))
    assert spoken(verdict) == (Answer.NOT_UNTIL, "lanes.mode-unknown")


def test_a_mode_that_the_substrate_does_not_allow_is_never_used(ask: Ask) -> None:
    verdict = substrate_known(ask(item={"substrate": "mesh-270", "print_mode": "fine"}))
    assert spoken(verdict) == (Answer.NEVER, "lanes.mode-not-allowed")


def test_what_comes_on_a_roll_is_roll_fed(ask: Ask) -> None:
    assert spoken(roll_fed(ask())) == (Answer.CAN, "lanes.roll-fed-ok")


def test_rigid_board_is_never_printed(ask: Ask) -> None:
    assert spoken(roll_fed(ask(item={"substrate": "board-5"}))) == (Answer.NEVER, "lanes.rigid")


def test_a_thickness_within_the_range_is_told_with_the_range(ask: Ask) -> None:
    verdict = thickness(ask())
    assert spoken(verdict) == (Answer.CAN, "lanes.thickness-ok")
    assert verdict.facts == {"thickness_um": 500, "least_um": 100, "most_um": 1200}


@pytest.mark.parametrize("limits", [{"min": 501, "max": 1200}, {"min": 0, "max": 499}])
def test_too_thin_and_too_thick_never_pass(ask: Ask, limits: dict[str, float]) -> None:
    verdict = thickness(ask(settings={"presses.tern.thickness_um": limits}))
    assert spoken(verdict) == (Answer.NEVER, "lanes.thickness-out")


@pytest.mark.parametrize("limits", [{"min": 500, "max": 1200}, {"min": 0, "max": 500}])
def test_the_ends_of_the_range_pass(ask: Ask, limits: dict[str, float]) -> None:
    assert thickness(ask(settings={"presses.tern.thickness_um": limits})).answer is Answer.CAN


def test_layers_that_are_fitted_can_be_printed(ask: Ask) -> None:
    verdict = layers(ask(item={"print_mode": "fine", "layer_stack": "colour, white, colour"}))
    assert spoken(verdict) == (Answer.CAN, "lanes.layers-ok")


def test_a_channel_that_is_not_fitted_is_never_printed(ask: Ask) -> None:
    verdict = layers(ask(item={"print_mode": "fine", "layer_stack": "colour, clear"}))
    assert spoken(verdict) == (Answer.NEVER, "lanes.channel-not-fitted")
    assert verdict.facts["channel"] == "Clear"


def test_layers_that_the_mode_does_not_offer_are_never_printed(ask: Ask) -> None:
    verdict = layers(ask(item={"layer_stack": "white, colour"}))
    assert spoken(verdict) == (Answer.NEVER, "lanes.stack-not-offered")


CLEAR_FILM = {"substrate": "clear-film", "print_mode": "fine"}


def test_clear_film_without_white_is_printed_with_a_warning(ask: Ask) -> None:
    assert spoken(layers(ask(item=CLEAR_FILM))) == (Answer.CAN, "lanes.without-white")


def test_clear_film_without_white_is_refused_where_the_shop_says_so(ask: Ask) -> None:
    verdict = layers(ask(item=CLEAR_FILM, settings={"presses.tern.refuse_without_white": True}))
    assert spoken(verdict) == (Answer.NEVER, "lanes.white-required")


def test_clear_film_with_white_needs_no_word(ask: Ask) -> None:
    verdict = layers(ask(item=CLEAR_FILM | {"layer_stack": "colour, white"}))
    assert spoken(verdict) == (Answer.CAN, "lanes.layers-ok")


@pytest.mark.parametrize(
    "settings",
    [
        {"substrates.banner-510.metallic": True},
        {"substrates.banner-510.transparent": True},
        {"substrates.banner-510.family": "metallised film"},
    ],
)
def test_metallic_and_transparent_substrates_ask_for_white_too(ask: Ask, settings: dict[str, Any]) -> None:
    assert layers(ask(settings=settings)).code == "lanes.without-white"


MESH = {"substrate": "mesh-270"}


def test_a_closed_substrate_needs_no_underlay(ask: Ask) -> None:
    assert spoken(mesh(ask())) == (Answer.CAN, "lanes.underlay-not-needed")


def test_mesh_with_its_own_liner_needs_no_underlay(ask: Ask) -> None:
    verdict = mesh(ask(item=MESH, settings={"substrates.mesh-270.has_liner": True}))
    assert spoken(verdict) == (Answer.CAN, "lanes.underlay-not-needed")


def test_mesh_with_the_underlay_in_place_can_be_printed(ask: Ask) -> None:
    verdict = mesh(ask(item=MESH, settings={"presses.tern.underlay.in_place": True}))
    assert spoken(verdict) == (Answer.CAN, "lanes.underlay-ok")


def test_mesh_waits_for_the_underlay_to_be_put_in(ask: Ask) -> None:
    verdict = mesh(ask(item=MESH))
    assert spoken(verdict) == (Answer.AFTER_CHANGE, "lanes.underlay-change")
    assert verdict.minutes == 8


def test_porous_textile_needs_the_underlay_as_well(ask: Ask) -> None:
    verdict = mesh(ask(settings={"substrates.banner-510.porous": True}))
    assert verdict.code == "lanes.underlay-change"


def test_mesh_is_never_printed_without_an_underlay_fitted(ask: Ask) -> None:
    verdict = mesh(ask(item=MESH, settings={"presses.tern.underlay.fitted": False}))
    assert spoken(verdict) == (Answer.NEVER, "lanes.underlay-not-fitted")


def test_mesh_is_never_printed_on_a_lane_that_the_underlay_cannot_serve(ask: Ask) -> None:
    verdict = mesh(ask("right", item=MESH))
    assert spoken(verdict) == (Answer.NEVER, "lanes.underlay-not-here")


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_no_rule_needs_the_substrate_to_give_an_answer(rule: Rule, ask: Ask) -> None:
    settings = {"presses.tern.shafts": "common"}
    verdict = rule.ask(ask(substrate=None, settings=settings, layout=None))
    assert verdict.rule == rule.name
    assert verdict.answer in (Answer.CAN, Answer.NOT_UNTIL)


@pytest.mark.parametrize("rule", [roll_fed, thickness, mesh])
def test_a_rule_that_looks_at_the_substrate_says_that_it_is_missing(
    rule: Callable[[LaneQuestion], Verdict], ask: Ask
) -> None:
    assert spoken(rule(ask(substrate=None))) == (Answer.NOT_UNTIL, "lanes.substrate-needed")


WHITE = {"print_mode": "fine", "layer_stack": "white, colour"}
"""Ten banners of half a square metre: 5 m2 x 80 % x 14 ml of white are 56 ml."""


def test_ink_of_which_no_account_is_kept_is_not_judged(ask: Ask) -> None:
    assert spoken(ink_left(ask())) == (Answer.CAN, "lanes.ink-unknown")


@pytest.mark.parametrize(("left_ml", "answer"), [(55.9, Answer.NOT_UNTIL), (56.1, Answer.CAN)])
def test_a_job_waits_for_white_where_less_is_left_than_it_takes(
    ask: Ask, left_ml: float, answer: Answer
) -> None:
    question = ask(item=WHITE, settings={"presses.tern.ink_left_ml": {"white": left_ml, "Cyan": 5000}})
    assert spoken(ink_left(question))[0] is answer


def test_the_ink_that_is_shortest_is_named(ask: Ask) -> None:
    verdict = ink_left(ask(item=WHITE, settings={"presses.tern.ink_left_ml": {"White": 10, "Cyan": 1}}))
    assert spoken(verdict) == (Answer.NOT_UNTIL, "lanes.ink-short")
    assert verdict.facts["channel"] == "White"


def test_ink_cannot_be_judged_without_a_layout(ask: Ask) -> None:
    question = ask(estimate=None, settings={"presses.tern.ink_left_ml": {"White": 10}})
    assert spoken(ink_left(question)) == (Answer.NOT_UNTIL, "lanes.layout-needed")

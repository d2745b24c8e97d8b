"""Who serves what: everything that can be served, by one that can, in fair shares, without needless moves."""

from hypothesis import given
from hypothesis import strategies as st

from ticketbridge.daemon.assign import assign

LANES = ["lane A", "lane B", "lane C", "lane D"]


def everything(*bridges: str) -> dict[str, frozenset[str]]:
    return {bridge: frozenset([*LANES, "requests"]) for bridge in bridges}


def test_one_bridge_serves_everything() -> None:
    assert set(assign(LANES, everything("one"), {}).values()) == {"one"}


def test_a_second_one_gets_half_and_the_first_keeps_the_rest() -> None:
    owners: dict[str, str | None] = dict.fromkeys(LANES, "one")

    assert assign(LANES, everything("one", "two"), owners) == {
        "lane A": "one",
        "lane B": "one",
        "lane C": "two",
        "lane D": "two",
    }


def test_nobody_is_given_what_he_does_not_see() -> None:
    can_serve = everything("one") | {"two": frozenset(["lane B"])}

    assert assign(LANES, can_serve, {})["lane A"] == "one"
    assert [name for name, bridge in assign(LANES, can_serve, {}).items() if bridge == "two"] == ["lane B"]


def test_what_nobody_sees_is_nobody_s() -> None:
    assert assign(LANES, {"one": frozenset()}, {}) == {}


def test_what_a_dead_bridge_served_goes_to_those_who_are_there() -> None:
    assert set(assign(LANES, everything("two", "three"), dict.fromkeys(LANES, "one")).values()) == {
        "two",
        "three",
    }


NAMES = st.lists(
    st.sampled_from([f"{kind} {n}" for kind in ("lane", "source") for n in range(6)]), unique=True
)


@given(st.data())
def test_every_name_goes_to_one_that_sees_it_and_the_next_look_moves_nothing(data: st.DataObject) -> None:
    names = data.draw(NAMES)
    seen = st.frozensets(st.sampled_from(names)) if names else st.just(frozenset())
    can_serve = data.draw(st.dictionaries(st.sampled_from("abcd"), seen, min_size=1))
    owners = {name: data.draw(st.sampled_from([None, *"abcd"])) for name in names}

    assigned = assign(names, can_serve, owners)

    assert set(assigned) == {name for name in names if any(name in seen for seen in can_serve.values())}
    assert all(name in can_serve[bridge] for name, bridge in assigned.items())
    assert assign(names, can_serve, dict(assigned)) == assigned

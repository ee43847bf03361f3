"""Small retunings: exact, against searching every one; and what the trade retunes for."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations, product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.arrange import PlayedOn, find_route, load_player, load_weights, survey_retunings
from reedpath.arrange.retuning import LEAST_SAVING
from reedpath.errors import SettingsError
from reedpath.harp import Breath, Tuning, load_tuning, make_harp
from reedpath.phrase import Event, Phrase, Tempo
from support.examples import examples

PLAYER, WEIGHTS = load_player("steady"), load_weights()
SMALL = Tuning("small", "two holes", (0, 4), (2, 7))


def phrase(*midi: int, bpm: float = 100.0) -> Phrase:
    events = tuple(Event(Fraction(place), Fraction(1), (pitch,)) for place, pitch in enumerate(midi))
    return Phrase(events, tempos=(Tempo(Fraction(0), bpm),))


def cost(one: Phrase, tuning: Tuning) -> float:
    """What the best route of a phrase costs on a C harp of that tuning."""
    route = find_route(one, make_harp("C", tuning), player=PLAYER, weights=WEIGHTS)
    lost = (1.0 - route.truth) * len(route.events)
    return sum(event.effort.total for event in route.events) + WEIGHTS.fit.price_points * lost


def retuned(changes: tuple[tuple[int, int], ...]) -> Tuning:
    """The small tuning with reeds changed, numbered through both rows."""
    reeds = [*SMALL.blow, *SMALL.draw]
    for reed, step in changes:
        reeds[reed] += step
    return Tuning("small", "two holes", tuple(reeds[:2]), tuple(reeds[2:]))


def by_enumeration(phrases: list[Phrase], reeds: int) -> list[float]:
    """Costs of all retunings of which each reed saves a point, by searching every one."""
    costs = {
        tuple(zip(places, steps, strict=True)): sum(
            cost(one, retuned(tuple(zip(places, steps, strict=True)))) for one in phrases
        )
        for count in range(reeds + 1)
        for places in combinations(range(4), count)
        for steps in product((-2, -1, 1, 2), repeat=count)
    }
    kept = [
        costs[each]
        for each in costs
        if each
        and all(
            costs[each] <= costs[fewer] - LEAST_SAVING * (len(each) - count)
            for count in range(len(each))
            for fewer in combinations(each, count)
        )
    ]
    return sorted(kept)


@pytest.mark.slow
@examples(12)
@given(
    st.lists(st.lists(st.integers(58, 69), min_size=1, max_size=4, unique=True), min_size=1, max_size=2),
    st.integers(1, 4),
)
def test_one_reed_is_exact(lines: list[list[int]], top: int) -> None:
    phrases = [phrase(*line) for line in lines]
    found = survey_retunings([PlayedOn(one, make_harp("C", SMALL), PLAYER) for one in phrases], top=top)
    assert found.points == pytest.approx(sum(cost(one, SMALL) for one in phrases))
    assert [one.points for one in found.ranked] == pytest.approx(by_enumeration(phrases, 1)[:top])
    assert found.searched == 16


@pytest.mark.slow
@examples(3)
@given(st.lists(st.integers(58, 69), min_size=2, max_size=4, unique=True))
def test_two_reeds_are_exact(line: list[int]) -> None:
    found = survey_retunings([PlayedOn(phrase(*line), make_harp("C", SMALL), PLAYER)], reeds=2, top=3)
    assert [one.points for one in found.ranked] == pytest.approx(by_enumeration([phrase(*line)], 2)[:3])


def changes_found(*midi: int) -> list[tuple[int, str, int]]:
    """The single reeds that are best retuned, as hole, breath and semitones."""
    played = PlayedOn(phrase(*midi), make_harp("C"), PLAYER)
    return [
        (change.hole, change.breath.value, change.semitones)
        for one in survey_retunings([played]).ranked
        for change in one.changes
    ]


@pytest.mark.slow
def test_a_major_seventh_in_second_position_wants_5_draw_raised() -> None:
    """The country tuning: 5 draw raised a half step (angelfire.com/tx/myquill/SpecialTunings.html)."""
    assert changes_found(74, 76, 78, 79, 78, 76, 74)[0] == (5, "draw", 1)


def test_a_low_sixth_in_first_position_wants_3_blow_raised() -> None:
    """The raised 3 blow, a whole step up, for folk tunes in first position (from memory); or 2 draw in its part."""
    assert set(changes_found(60, 62, 64, 67, 69, 67, 69, 71, 72)[:2]) == {(3, "blow", 2), (2, "draw", 2)}


def test_changes_make_the_tuning() -> None:
    played = PlayedOn(phrase(74, 76, 78, 79), make_harp("C"), PLAYER)
    best = survey_retunings([played], top=1).ranked[0]
    assert best.tuning.draw == load_tuning("raised-5-draw").draw
    assert best.saves == pytest.approx(cost(phrase(74, 76, 78, 79), load_tuning("standard")) - best.points)


def test_what_is_easy_already_saves_nothing() -> None:
    found = survey_retunings([PlayedOn(phrase(72, 74, 76), make_harp("C"), PLAYER)])
    assert (found.ranked, found.searched) == ((), 80)


def test_nothing_to_play_asks_nothing() -> None:
    assert survey_retunings([PlayedOn(phrase(), make_harp("C"), PLAYER)]).searched == 0


@pytest.mark.parametrize("reeds", [0, 3, -1])
def test_one_reed_or_two(reeds: int) -> None:
    with pytest.raises(SettingsError, match="1 to 2 are possible"):
        survey_retunings([PlayedOn(phrase(72), make_harp("C"), PLAYER)], reeds=reeds)


def test_harps_of_one_tuning_alone() -> None:
    others = [PlayedOn(phrase(72), make_harp("C", name), PLAYER) for name in ("standard", "solo")]
    with pytest.raises(SettingsError, match="several tunings: solo, standard"):
        survey_retunings(others)


def test_reeds_are_named_by_breath() -> None:
    played = PlayedOn(phrase(74, 76, 78, 79), make_harp("C"), PLAYER)
    assert {change.breath for one in survey_retunings([played]).ranked for change in one.changes} <= set(Breath)

"""From routes and answers to what they say of skill; routes and tempos that suit a student."""

from __future__ import annotations

import dataclasses

import pytest
from msgspec.structs import replace

from reedpath.arrange import Choice, find_route, load_player, load_weights
from reedpath.data import encode_json, from_plain, plain_of_version
from reedpath.harp import Alteration, Breath, Move, make_harp
from reedpath.listen import Answer, AnswerFile, FaultKind, answer_as_data
from reedpath.phrase import Tempo
from reedpath.skill import (
    SkillObservation,
    SkillTechnique,
    TechniqueState,
    after_take,
    demands_of,
    expected_share,
    first_skill,
    least_sure,
    observations_of,
    route_answered,
    skill_settings,
    standings_of,
    suited_weights,
    tempo_for,
    told_range,
)
from reedpath.skill.demands import TECHNIQUES, technique_of
from reedpath.skill.fitting_student import MOST_EXTRA, extra_points
from support.listened import built_answer
from support.phrases import phrase_of

BENT = "E4 1/2 G4 A4 Bb4 A4 G4 E4 D4 E4 G4 Bb4 A4"


def written(answer: Answer) -> AnswerFile:
    """An answer as it is kept and read again."""
    data = encode_json(answer_as_data(answer))
    return from_plain(plain_of_version(data, schema="reedpath/answer", version=2, older={}), AnswerFile)


def bent_route(level: str = "steady"):
    return find_route(phrase_of(BENT), make_harp("A"), player=load_player(level))


@pytest.mark.parametrize(
    ("move", "technique"),
    [
        (Choice(Move((4,), Breath.DRAW)), "plain"),
        (Choice(Move((4,), Breath.DRAW, Alteration.BEND, -1)), "half_bends"),
        (Choice(Move((3,), Breath.DRAW, Alteration.BEND, -3)), "deep_bends"),
        (Choice(Move((3,), Breath.DRAW), attack_semitones=-2.0), "deep_bends"),
        (Choice(Move((3,), Breath.DRAW), fall_semitones=-1.0), "half_bends"),
        (Choice(Move((10,), Breath.BLOW, Alteration.BEND, -1)), "blow_bends"),
        (Choice(Move((6,), Breath.BLOW, Alteration.OVERBLOW, 3)), "overblows"),
        (Choice(Move((7,), Breath.DRAW, Alteration.OVERDRAW, 3)), "overdraws"),
        (Choice(Move((1, 2), Breath.DRAW)), "chords"),
        (Choice(Move((1, 4), Breath.DRAW)), "splits"),
    ],
)
def test_every_move_asks_one_technique_above_all(move: Choice, technique: str) -> None:
    assert technique_of(move) == technique


def test_a_silent_event_asks_nothing() -> None:
    assert technique_of(Choice(None)) is None


def test_points_are_those_of_one_level_whatever_the_route_was_made_for() -> None:
    for level in ("easy", "steady", "advanced"):
        route = bent_route("advanced")
        told = demands_of(replace(route, level=level)).points.tolist()
        assert told == pytest.approx(demands_of(route).points.tolist())
    assert demands_of(bent_route()).points.sum() == pytest.approx(
        sum(one.effort.total for one in bent_route().events), rel=0.2
    )


def test_faster_is_harder() -> None:
    route = bent_route()
    assert demands_of(route, 2.0).points.sum() > demands_of(route, 1.0).points.sum()


def test_an_answer_says_of_each_event_whether_it_was_right_and_how_far_off() -> None:
    route = bent_route()
    bend = next(index for index, one in enumerate(route.events) if technique_of(one.choice) != "plain")
    answer = built_answer(route, {bend: (FaultKind.SHARP, 30.0), 5: (FaultKind.MISSED, 0.0)})
    seen = observations_of(written(answer), route)
    assert len(seen) == len(route.events)
    assert [number for number, one in enumerate(seen) if not one.right] == sorted({bend, 5})
    assert seen[bend].cents == pytest.approx(30.0)
    assert (seen[5].cents, seen[5].late_ms) == (None, None)
    assert seen[0].weight == 1.0


def test_what_others_cover_says_nothing_of_a_student() -> None:
    route = bent_route()
    answer = written(built_answer(route))
    (play,) = answer.plays
    events = (replace(play.events[0], covered=True), *play.events[1:])
    seen = observations_of(replace(answer, plays=(replace(play, events=events),)), route)
    assert len(seen) == len(route.events) - 1


def test_what_is_played_again_in_a_take_weighs_less_each_time() -> None:
    route = bent_route()
    once = written(built_answer(route))
    twice = replace(once, plays=once.plays * 4)
    assert {one.weight for one in observations_of(twice, route)} == {0.5}


def test_of_several_routes_the_one_is_found_that_an_answer_is_about() -> None:
    route, other = bent_route(), find_route(phrase_of("C4 1/2 D4 E4 G4"), make_harp("C"))
    answer = written(built_answer(route))
    assert route_answered(answer, [other, route]) is route
    assert route_answered(answer, [other]) is None
    assert route_answered(replace(answer, plays=()), [route]) is None


def learnt(technique: SkillTechnique, *, right: bool, takes: int = 4):
    skill = first_skill("steady")
    for _ in range(takes):
        plain = [SkillObservation(SkillTechnique.PLAIN, 0.3, right=True)] * 20
        skill = after_take(skill, [*plain, *[SkillObservation(technique, 1.5, right=right)] * 10])
    return skill


def test_a_route_keeps_off_what_a_student_is_not_sure_of() -> None:
    bends = {SkillTechnique.HALF_BENDS, SkillTechnique.DEEP_BENDS}

    def share_of_bends(skill) -> int:
        weights = load_weights() if skill is None else suited_weights(load_weights(), skill)
        route = find_route(phrase_of("F4 1 A4 F4 A4 F4"), make_harp("C"), weights=weights)
        return sum(technique_of(one.choice) in bends for one in route.events)

    unsure = learnt(SkillTechnique.DEEP_BENDS, right=False)
    assert extra_points(unsure, SkillTechnique.DEEP_BENDS) > 1
    assert extra_points(first_skill(), SkillTechnique.DEEP_BENDS) == 0
    assert share_of_bends(unsure) <= share_of_bends(None)
    plain = load_weights().move
    suited = suited_weights(load_weights(), unsure).move
    assert suited.draw_bend["4"][1] > plain.draw_bend["4"][1]
    assert suited.draw_bend["4"][0] == pytest.approx(plain.draw_bend["4"][0])


def with_technique_logits(logits: float):
    """A steady student whose every technique is so many logits off what the level alone gives."""
    skill = first_skill("steady")
    mean = skill.mean.copy()
    mean[1:-1] = logits
    return dataclasses.replace(skill, mean=mean)


def test_a_technique_weighs_what_it_costs_a_student_more_and_never_less_than_nothing() -> None:
    plain = load_weights().move
    assert suited_weights(load_weights(), first_skill()).move == plain
    unsure = with_technique_logits(-1.0)
    more = extra_points(unsure, SkillTechnique.SPLITS)
    assert more > 0
    suited = suited_weights(load_weights(), unsure).move
    for name in ("overblow", "overdraw", "split", "chord"):
        assert getattr(suited, name) == pytest.approx(getattr(plain, name) + more), name
    for gap, points in plain.draw_bend.items():
        assert suited.draw_bend[gap] == pytest.approx([one + more for one in points])
    # so sure that every technique would cost less than nothing
    able = suited_weights(load_weights(), with_technique_logits(20.0)).move
    assert (able.split, able.chord, able.overblow, able.blow_bend_factor) == (0.0, 0.0, 0.0, 1.0)
    assert {one for points in able.draw_bend.values() for one in points} == {0.0}
    assert able.overdraw == pytest.approx(plain.overdraw - MOST_EXTRA)


def test_the_tempo_is_the_fastest_at_which_four_in_five_are_expected_right() -> None:
    route = bent_route()
    able = learnt(SkillTechnique.HALF_BENDS, right=True)
    unable = learnt(SkillTechnique.HALF_BENDS, right=False, takes=8)
    tempo, slower = tempo_for(able, route), tempo_for(unable, route)
    assert tempo is not None
    assert expected_share(able, demands_of(route, tempo)) >= 0.8
    assert slower is None or slower < tempo
    sure_of_nothing = able
    for _ in range(6):
        sure_of_nothing = after_take(sure_of_nothing, [SkillObservation(SkillTechnique.PLAIN, 0.0, right=False)] * 20)
    assert tempo_for(sure_of_nothing, route) is None
    assert least_sure(unable, route) in (SkillTechnique.HALF_BENDS, SkillTechnique.DEEP_BENDS)


def test_a_phrase_too_fast_as_written_is_slowed_down_no_further_than_it_takes() -> None:
    phrase = phrase_of(BENT, tempos=(Tempo(0, 400),))
    route = find_route(phrase, make_harp("A"), player=load_player("steady"))
    skill, aim = with_technique_logits(1.0), skill_settings().told.aim
    tempo = tempo_for(skill, route)
    assert tempo is not None
    assert 0.5 < tempo < 0.9
    assert (
        expected_share(skill, demands_of(route, tempo))
        >= aim
        > expected_share(skill, demands_of(route, tempo + 0.05))
    )


def test_per_technique_it_is_told_what_is_sure_what_is_not_and_what_is_not_known() -> None:
    sure = [SkillObservation(SkillTechnique.PLAIN, 0.2, right=True, cents=2.0, late_ms=-4.0)] * 30
    poor = [SkillObservation(SkillTechnique.HALF_BENDS, 1.2, right=False, cents=28.0)] * 12
    once = [SkillObservation(SkillTechnique.CHORDS, 0.5, right=True)]
    takes = [[*sure, *poor, *once]] * 3
    skill = first_skill("easy")
    for take in takes:
        skill = after_take(skill, take)
    found = {one.technique: one for one in standings_of(skill, takes)}
    assert found[SkillTechnique.PLAIN].standing is TechniqueState.SURE
    assert found[SkillTechnique.HALF_BENDS].standing is TechniqueState.NOT_YET
    assert found[SkillTechnique.CHORDS].standing is TechniqueState.UNKNOWN
    assert set(found) < set(TECHNIQUES)
    assert next(iter(found)) is SkillTechnique.HALF_BENDS
    assert 15 < found[SkillTechnique.HALF_BENDS].cents.mean < 28
    assert found[SkillTechnique.HALF_BENDS].late_ms is None
    lowest, highest = told_range(found[SkillTechnique.PLAIN].chance)
    assert lowest % 5 == highest % 5 == 0
    assert lowest < highest

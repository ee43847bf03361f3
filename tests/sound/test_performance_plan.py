"""The plan: which tones, when, how they start and join."""

from __future__ import annotations

from fractions import Fraction

import pytest
from msgspec.structs import replace

from reedpath.arrange import Choice
from reedpath.data import shipped_text
from reedpath.errors import SettingsError
from reedpath.harp import Breath, Move, sound_of
from reedpath.phrase import timing_of
from reedpath.sound import Attack, Plan, Vibrato, plan_route
from reedpath.sound.played_moves import load_performance, parse_performance
from support.built_routes import built_route


def planned(text: str, *, bpm: float = 60.0, **more: object) -> Plan:
    slaps = bool(more.pop("slap_accents", False))
    route = built_route(text, bpm=bpm, **more)
    return plan_route(route, timing_of(route.phrase), slap_accents=slaps)


def test_each_event_has_its_span_in_seconds() -> None:
    plan = planned("2d:1 r:1 4b:2", bpm=120.0)
    assert [(span.start_seconds, span.end_seconds) for span in plan.spans] == [(0.0, 0.5), (1.0, 2.0)]
    assert plan.seconds == 2.0


def test_an_empty_route_is_an_empty_plan() -> None:
    plan = planned("")
    assert (plan.tones, plan.spans, plan.seconds) == ((), (), 0.0)


def test_neighbours_on_one_breath_are_slurred_without_a_gap() -> None:
    first, second = planned("4d:1 5d:1").tones
    assert second.attack is Attack.SLURRED
    assert 0.0 < first.end_seconds - second.start_seconds < 0.02


def test_a_turn_of_the_breath_leaves_a_gap_and_speaks_anew() -> None:
    first, second = planned("4d:1 4b:1").tones
    assert second.attack is Attack.TURNED
    assert 0.015 < second.start_seconds - first.end_seconds < 0.05


def test_the_same_note_again_is_tongued() -> None:
    first, second = planned("4d:1 4d:1").tones
    assert second.attack is Attack.TONGUED
    assert second.start_seconds - first.end_seconds > 0.015


def test_gaps_of_short_notes_are_short() -> None:
    first, second = planned("4d:1/16 4d:1/16", bpm=120.0).tones
    assert 0.0 < second.start_seconds - first.end_seconds < 0.012


def test_after_a_rest_a_note_is_tongued_and_the_one_before_keeps_its_length() -> None:
    first, second = planned("4d:1 r:1 4b:1").tones
    assert second.attack is Attack.TONGUED
    assert first.end_seconds == 1.0


def test_an_accent_is_struck_and_louder() -> None:
    plain, accented = planned("4d:1 5d:1").tones[1], planned("4d:1 5d:1!").tones[1]
    assert accented.attack is Attack.TONGUED
    assert accented.force > plain.force + 0.1


def test_bends_of_one_hole_are_one_tone_that_glides() -> None:
    (one,) = planned("3d'':1 3d':1 3d:1").tones
    reed = one.reed_hz
    assert (one.start_seconds, one.end_seconds) == (0.0, 3.0)
    assert one.contour.hz[0] == pytest.approx(reed * 2 ** (-2 / 12))
    assert one.contour.hz[-1] == pytest.approx(reed)
    halfway = [
        at for at, hz in zip(one.contour.seconds, one.contour.hz, strict=True) if hz > reed * 2 ** (-1.49 / 12)
    ]
    assert halfway[0] == pytest.approx(1.0, abs=0.03)


@pytest.mark.parametrize("text", ["3d':1 r:1 3d:1", "3d':1 3d:1!", "3b:1 3bo:1", "3d:1 4d':1", "3d:1_1 3d':1"])
def test_what_is_not_one_breath_in_one_hole_does_not_glide(text: str) -> None:
    assert len(planned(text).tones) == 2


def test_a_vibrato_inside_a_glide_waits_for_its_note() -> None:
    (one,) = planned("3d':1 3d:2~").tones
    assert one.vibrato is Vibrato.THROAT
    assert one.vibrato_from_seconds == 1.0
    assert one.delayed(2.0).vibrato_from_seconds == 3.0


def test_hands_shake_what_is_blown() -> None:
    assert planned("4b:1~").tones[0].vibrato is Vibrato.HAND


def test_bent_starts_and_ends_move_the_contour() -> None:
    (one,) = planned("3d:2^2_1").tones
    semitones = [round(12 * __import__("math").log2(hz / one.reed_hz), 3) for hz in one.contour.hz]
    assert semitones[0] == -2.0
    assert 0.0 in semitones
    assert semitones[-1] == -1.0


def test_a_chord_is_one_tone_a_reed_softer_and_wandering_together() -> None:
    tones = planned("(1 2 3)d:1").tones
    assert [round(tone.contour.hz[0], 1) for tone in tones] == [293.7, 392.0, 493.9]
    assert len({tone.seed for tone in tones}) == 1
    assert all(tone.level_db < -3.0 for tone in tones)


def test_leads_are_played_in_the_time_of_their_note() -> None:
    route = built_route("4d:1 6d:1", bpm=60.0)
    last = route.events[1]
    choice = Choice(last.choice.move, lead_in=(Move((5,), Breath.DRAW),), lead_out=(Move((5,), Breath.DRAW),))
    route = replace(route, events=(route.events[0], replace(last, choice=choice)))
    plan = plan_route(route, timing_of(route.phrase))
    assert [tone.event for tone in plan.tones] == [0, 1, 1, 1]
    lead, main, out = plan.tones[1:]
    assert lead.start_seconds == 1.0
    assert 1.05 < main.start_seconds < 1.1
    assert 1.9 < out.start_seconds < 1.95
    assert out.end_seconds == 2.0


def test_silent_events_keep_their_span_but_sound_nothing() -> None:
    route = built_route("4d:1 5d:1")
    silent = replace(route.events[1], choice=Choice(None))
    plan = plan_route(replace(route, events=(route.events[0], silent)), timing_of(route.phrase))
    assert len(plan.tones) == 1
    assert len(plan.spans) == 2


def test_tongue_blocked_accents_are_slapped() -> None:
    tones = planned("r:1 [4]d:1!").tones
    slap, main = tones[:-1], tones[-1]
    assert len(slap) == 3
    assert main.attack is Attack.SLAPPED
    assert all(tone.end_seconds < main.start_seconds + 0.06 for tone in slap)
    assert {round(tone.reed_hz) for tone in slap} == {294, 392, 494}


def test_puckered_accents_are_slapped_only_on_request_and_hole_1_never() -> None:
    assert len(planned("r:1 4d:1!").tones) == 1
    assert len(planned("r:1 4d:1!", slap_accents=True).tones) == 4
    assert len(planned("r:1 1d:1!", slap_accents=True).tones) == 1


def test_swing_moves_the_second_half_of_a_beat() -> None:
    plan = planned("2d 3d 4b 4d", swing=Fraction(2))
    assert [round(span.start_seconds, 3) for span in plan.spans] == [0.0, 0.667, 1.0, 1.667]


def test_a_tempo_scales_everything() -> None:
    route = built_route("2d:1 3d:1", bpm=60.0)
    slow = plan_route(route, timing_of(route.phrase).scaled(0.5))
    assert slow.spans[1].start_seconds == 2.0


def test_tones_sound_what_the_harp_sounds() -> None:
    route = built_route("2d:1 4b:1 6bo:1 8b':1", key="Bb")
    plan = plan_route(route, timing_of(route.phrase))
    for tone, one in zip(plan.tones, route.events, strict=True):
        assert tone.contour.hz[-1] == pytest.approx(sound_of(route.harp, one.choice.move).hz[0])
    # an overbend sounds harsher
    assert [tone.overbend for tone in plan.tones] == [False, False, True, False]


def test_a_wrong_performance_file_is_told_by_key() -> None:
    text = shipped_text("reedpath.sound", "performance.toml")
    assert parse_performance(text) == load_performance()
    with pytest.raises(SettingsError, match=r"performance.toml, 'force.plain': .hard. is not a number"):
        parse_performance(text.replace("plain = 0.66", 'plain = "hard"'))

"""Which sound is whose, and what is said of it, on takes whose hearing is made by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from msgspec import structs

from reedpath.arrange import Effort
from reedpath.harp import Breath, Move
from reedpath.hear import Condition
from reedpath.listen import FaultKind, Notice, ReedHeard, ReedState, Verdict, answer_of, format_answer
from reedpath.listen.advice import failed_spots, practise_of
from reedpath.listen.judging import fault_of
from reedpath.listen.reading_again import steady_of
from reedpath.wording import load_catalogue
from support.built_routes import built_route
from support.heard_takes import USUAL_DB, HeardTake, own_level

# half a second each
ROUTE = built_route("2d 3d 4d 5d 4d 4d 6b", key="C", bpm=60)
DRAW_3, DRAW_5 = 71.0, 77.0


def kinds(one):
    return [fault.kind for fault in one.faults]


def events(take, **options):
    (play,) = take.answer(**options).plays
    return play.events


def wrong(take, **options):
    """The faults of each event that has any, by its number."""
    return {one.event: kinds(one) for one in events(take, **options) if one.faults}


def test_what_is_played_as_asked_has_no_faults():
    answer = HeardTake(ROUTE).answer()
    (play,) = answer.plays
    assert all(one.verdict is Verdict.PLAYED and not one.faults for one in play.events)
    assert play.right_share == 1.0
    assert play.extras == ()
    assert [one.heard for one in play.events] == [one.choice.move for one in ROUTE.events]


def test_an_event_without_sound_is_missed_when_it_was_due():
    take = HeardTake(ROUTE).silent(2)
    one = events(take)[2]
    assert (one.verdict, one.heard, kinds(one)) == (Verdict.MISSED, None, [FaultKind.MISSED])
    assert (one.start_seconds, one.end_seconds) == pytest.approx((take.due[2], take.due[2] + 0.5))
    assert wrong(take) == {2: [FaultKind.MISSED]}


def test_a_sound_too_short_to_be_a_note_is_none():
    take = HeardTake(ROUTE)
    take.sounding(2, end=take.due[2] + 0.04)
    assert wrong(take) == {2: [FaultKind.MISSED]}
    take.sounding(2, end=take.due[2] + 0.06)
    assert events(take)[2].verdict is Verdict.PLAYED


# ------------------------------------------------------------------------------------------- another note


def test_another_note_in_its_place_is_named():
    one = events(HeardTake(ROUTE).sounding(2, midi=DRAW_3))[2]
    assert one.verdict is Verdict.ANOTHER
    assert one.heard == Move((3,), Breath.DRAW)
    assert kinds(one) == [FaultKind.ANOTHER]
    assert one.cents == pytest.approx(-300, abs=20)
    assert one.heard_cents == pytest.approx(0, abs=20)


@pytest.mark.parametrize(("off", "verdict"), [(49, "played"), (62, "played"), (76, "another")])
def test_a_pitch_is_another_note_from_where_it_is_nearer_to_one(off, verdict):
    # 60 cents over 4 draw lies 40 under 4 overblow; nothing is within 30 cents of it
    one = events(HeardTake(ROUTE).sounding(2, midi=HeardTake(ROUTE).sounds[2].midi + off / 100))[2]
    assert one.verdict.value == verdict


@pytest.mark.parametrize(("text", "heard"), [("2d' 4d 2d' 6b", (2,)), ("4b 4d 4b 6b", (3,))])
def test_of_two_moves_that_sound_alike_the_one_near_the_notes_beside_was_played(text, heard):
    take = HeardTake(built_route(text, key="C", bpm=60))
    assert events(take.sounding(1, midi=67.0))[1].heard.holes == heard


@pytest.mark.parametrize(
    ("level_db", "verdict"), [(USUAL_DB - 11, "another"), (USUAL_DB - 12, "another"), (USUAL_DB - 13, "missed")]
)
def test_another_note_far_softer_than_the_rest_is_an_echo(level_db, verdict):
    assert events(HeardTake(ROUTE).sounding(2, midi=DRAW_3, level_db=level_db))[2].verdict.value == verdict


def test_another_note_that_is_not_heard_to_begin_is_what_rings_on():
    assert events(HeardTake(ROUTE).sounding(2, midi=DRAW_3, begins=False))[2].verdict is Verdict.MISSED


def swapped(take, first):
    """The take with two neighbours each in the other's place."""
    mine, its = take.sounds[first].midi, take.sounds[first + 1].midi
    return take.sounding(first, midi=its).sounding(first + 1, midi=mine)


def test_two_neighbours_each_in_the_others_place_are_swapped():
    answered = events(swapped(HeardTake(ROUTE), 2))
    assert [kinds(one) for one in answered] == [[], [], [FaultKind.SWAPPED], [FaultKind.SWAPPED], [], [], []]
    assert [one.swapped_with for one in answered[2:4]] == [3, 2]
    assert [one.heard for one in answered[2:4]] == [ROUTE.events[3].choice.move, ROUTE.events[2].choice.move]


def test_three_notes_turned_round_are_no_swap_and_two_pairs_are_two():
    route = built_route("2d 3d 4d 6b 5d 7d", key="C", bpm=60)
    take = HeardTake(route)
    first, second, third = (take.sounds[number].midi for number in (1, 2, 3))
    take.sounding(1, midi=second).sounding(2, midi=third).sounding(3, midi=first)
    assert wrong(take) == {number: [FaultKind.ANOTHER] for number in (1, 2, 3)}
    answered = events(swapped(swapped(HeardTake(route), 1), 3))
    assert [one.swapped_with for one in answered] == [None, 2, 1, 4, 3, None]


# ------------------------------------------------------------------------------------ pitch, and how it holds


@pytest.mark.parametrize(
    ("seconds", "cents", "told"),
    [(0.4, 14, False), (0.4, 16, True), (0.13, 24, False), (0.13, 26, True), (0.09, 44, False), (0.09, 46, True)],
)
@pytest.mark.parametrize("kind", [FaultKind.FLAT, FaultKind.SHARP])
def test_a_pitch_off_is_told_from_where_it_is_heard_and_a_reed_has_settled(seconds, cents, told, kind):
    take = HeardTake(ROUTE)
    off = -cents if kind is FaultKind.FLAT else cents
    take.sounding(2, midi=take.sounds[2].midi + off / 100, end=take.due[2] + seconds)
    take.placing(2, take.due[2], take.due[2] + seconds)
    assert (kind in kinds(events(take)[2])) is told


def test_a_bend_is_told_by_its_depth():
    take = HeardTake(built_route("2d 3d'' 4d 5d 4d", key="C", bpm=60))
    one = events(take.sounding(1, midi=69.4))[1]
    assert (one.bend.wanted_semitones, one.bend.reached_semitones) == pytest.approx((2, 1.6), abs=0.2)
    assert kinds(one) == [FaultKind.SHARP]


def test_a_note_that_wavers_is_told_and_vibrato_is_not():
    route = built_route("2d 3d 4d:1 5d 4d", key="C", bpm=60)
    at = np.arange(98) * 0.01
    steps = 0.35 * np.sin(2 * np.pi * 2 * at)
    take = HeardTake(route)
    assert FaultKind.UNSTEADY in kinds(events(take.sounding(2, midi=take.sounds[2].midi + steps))[2])
    shaken = HeardTake(route)
    shaking = 0.3 * np.sin(2 * np.pi * 6 * at)
    one = events(shaken.sounding(2, midi=shaken.sounds[2].midi + shaking))[2]
    assert FaultKind.UNSTEADY not in kinds(one)
    assert one.vibrato.hz == pytest.approx(6, abs=0.3)


def test_a_glide_that_is_asked_and_not_made_is_told():
    route = built_route("2d 3d 4d:1/2_2 5d 4d", key="C", bpm=60)
    straight = events(HeardTake(route))[2]
    assert kinds(straight) == [FaultKind.GLIDE]
    assert straight.faults[0].amount == pytest.approx(2, abs=0.05)
    take = HeardTake(route)
    falling = np.concatenate([np.zeros(34), np.linspace(0, -2, 8), np.full(6, -2.0)])
    made = events(take.sounding(2, midi=take.sounds[2].midi + falling))[2]
    assert FaultKind.GLIDE not in kinds(made)
    assert made.fall.heard_semitones == pytest.approx(-2, abs=0.3)


def test_an_asked_attack_is_measured_from_its_start():
    take = HeardTake(built_route("2d 3d 4d:1/2^1 5d 4d", key="C", bpm=60))
    assert kinds(events(take)[2]) == [FaultKind.GLIDE]
    rising = np.concatenate([np.full(7, -1.0), np.linspace(-1, 0, 6), np.zeros(35)])
    one = events(take.sounding(2, midi=take.sounds[2].midi + rising))[2]
    assert one.attack.heard_semitones == pytest.approx(-1, abs=0.1)
    assert kinds(one) == []


def test_only_a_bend_has_a_depth():
    assert [one.bend is None for one in events(HeardTake(built_route("2d 3d'' 4d 5d 4d", key="C", bpm=60)))] == [
        True, False, True, True, True,
    ]  # fmt: skip
    missed = HeardTake(built_route("2d 3d'' 4d 5d 4d", key="C", bpm=60)).silent(1)
    assert events(missed)[1].bend is None


def test_a_harp_tuned_otherwise_is_allowed_for():
    take = HeardTake(ROUTE)
    for number in range(7):
        take.sounding(number, midi=take.sounds[number].midi + 0.2)
    answer = take.answer()
    assert answer.tuned_cents == pytest.approx(20, abs=0.5)
    assert all(not one.faults and abs(one.cents) < 0.5 for one in answer.plays[0].events)


# ------------------------------------------------------------------------------------------------- in time


def late(take, number, seconds):
    start = take.due[number] + seconds
    return take.sounding(number, start=start).placing(number, start, take.end[number])


@pytest.mark.parametrize(("seconds", "found"), [(0.05, []), (0.07, ["late"]), (-0.05, []), (-0.07, ["early"])])
def test_a_note_out_of_time_is_told_from_sixty_milliseconds(seconds, found):
    one = events(late(HeardTake(ROUTE), 2, seconds))[2]
    assert [fault.kind.value for fault in one.faults] == found
    assert one.late_seconds == pytest.approx(seconds)
    assert one.late_beats == pytest.approx(seconds)


@pytest.mark.parametrize(("seconds", "found"), [(0.11, []), (0.13, ["late"])])
def test_a_grace_note_has_no_time_of_its_own(seconds, found):
    route = built_route("2d 3d 4d:1/2g 5d 4d", key="C", bpm=60)
    one = events(late(HeardTake(route), 2, seconds))[2]
    assert [fault.kind.value for fault in one.faults] == found


def test_who_plays_unevenly_is_told_of_what_stands_out_from_that():
    take = HeardTake(ROUTE)
    for number in range(7):
        late(take, number, 0.03 * (-1) ** number)
    late(take, 4, 0.095)
    assert wrong(take) == {}
    assert wrong(late(take, 4, 0.105)) == {4: [FaultKind.LATE]}


@pytest.mark.parametrize(("seconds", "found"), [(0.075, {}), (0.081, {4: [FaultKind.LATE]})])
def test_what_is_late_stands_out_by_three_and_a_half_deviations(seconds, found):
    take = HeardTake(ROUTE)
    for number in range(7):
        late(take, number, 0.015 * (-1) ** number)
    assert wrong(late(take, 4, seconds)) == found


def test_a_short_note_may_lack_a_little():
    take = HeardTake(built_route("2d 3d 4d:1/4 5d 4d", key="C", bpm=60))
    take.sounding(2, end=take.due[2] + 0.105).placing(2, take.due[2], take.due[2] + 0.105)
    assert wrong(take) == {}


def test_a_note_let_go_too_soon_is_short():
    take = HeardTake(ROUTE)
    take.sounding(2, end=take.due[2] + 0.2).placing(2, take.due[2], take.due[2] + 0.2)
    one = events(take)[2]
    assert kinds(one) == [FaultKind.SHORT]
    assert one.held_share == pytest.approx(0.4)
    take.sounding(2, end=take.due[2] + 0.24).placing(2, take.due[2], take.due[2] + 0.24)
    assert kinds(events(take)[2]) == []


# ------------------------------------------------------------------------------------------- one too many


def test_a_note_struck_again_ends_there_and_the_rest_is_extra():
    take = HeardTake(ROUTE)
    take.sounding(2, midi=take.sounds[2].midi + 0.1)
    take.strikes = [take.due[2] + 0.25]
    (play,) = take.answer().plays
    assert wrong(take) == {2: [FaultKind.EXTRA]}
    assert play.events[2].end_seconds == pytest.approx(take.due[2] + 0.25)
    assert play.events[2].held_share == pytest.approx(0.5)
    (extra,) = play.extras
    assert extra.cents == play.events[2].cents
    assert (extra.after, extra.again, extra.end_seconds) == (2, True, pytest.approx(take.end[2] - 0.02))


@pytest.mark.parametrize("at", [0.07, 0.43])
def test_a_strike_at_the_edge_of_a_note_is_its_own_or_the_next_ones(at):
    take = HeardTake(ROUTE)
    take.strikes = [take.due[2] + at]
    assert wrong(take) == {}


def test_a_strike_that_the_notes_own_partials_do_not_dip_for_is_a_drum():
    take = HeardTake(ROUTE)
    at, end = take.due[2] + 0.25, take.end[2]
    take.strikes = [at]
    even = {2: own_level(take.due[2] - 0.15, end + 0.1, dips=[(take.due[2] - 0.15, take.due[2], 60)])}
    assert wrong(take, levels=even) == {}
    dips = [(take.due[2] - 0.15, take.due[2], 60), (at - 0.03, at, 10)]
    assert wrong(take, levels={2: own_level(take.due[2] - 0.15, end + 0.1, dips=dips)}) == {2: [FaultKind.EXTRA]}


def spare(take, **changes):
    """The take with the third event ending early and another note after it."""
    take.sounding(2, end=take.due[2] + 0.25).placing(2, take.due[2], take.due[2] + 0.25)
    start = take.due[2] + 0.28
    return take.sounding("spare", **{"start": start, "end": start + 0.18, "midi": DRAW_5, **changes})


def test_a_note_that_belongs_to_no_event_is_one_too_many():
    take = spare(HeardTake(ROUTE))
    (play,) = take.answer().plays
    (extra,) = play.extras
    assert (extra.after, extra.again, extra.move) == (2, False, Move((5,), Breath.DRAW))
    assert FaultKind.EXTRA in kinds(play.events[2])


@pytest.mark.parametrize("changes", [{"level_db": USUAL_DB - 19}, {"confidence": 0.4}])
def test_what_is_soft_or_unsure_is_no_note_too_many(changes):
    assert spare(HeardTake(ROUTE), **changes).answer().plays[0].extras == ()


@pytest.mark.parametrize(("seconds", "found"), [(0.07, 0), (0.1, 1)])
def test_a_note_too_many_must_be_long_enough_to_be_one(seconds, found):
    take = HeardTake(ROUTE)
    take = spare(take, end=take.due[2] + 0.28 + seconds)
    assert len(take.answer().plays[0].extras) == found


@pytest.mark.parametrize(("shared", "found"), [(0.35, 1), (0.45, 0)])
def test_a_note_of_which_much_lies_in_an_event_is_its_own(shared, found):
    take = HeardTake(ROUTE)
    end = take.due[2] + 0.25
    take = spare(take, start=end - 0.2 * shared, end=end + 0.2 * (1 - shared))
    assert len(take.answer().plays[0].extras) == found


def test_the_pitch_of_a_note_too_many_is_told():
    take = HeardTake(ROUTE)
    (extra,) = spare(take, midi=take.sounds[2].midi + 0.2).answer().plays[0].extras
    assert (extra.again, extra.move.holes) == (True, (4,))
    assert extra.cents == pytest.approx(20, abs=0.5)


def test_a_note_that_comes_again_after_a_rest_within_its_time_is_struck_again():
    take = HeardTake(ROUTE)
    take.sounding(2, end=take.due[2] + 0.15)
    take.sounding("again", start=take.due[2] + 0.27, end=take.end[2] - 0.02, midi=take.sounds[2].midi)
    (extra,) = take.answer().plays[0].extras
    assert (extra.again, extra.after, extra.start_seconds) == (True, 2, pytest.approx(take.due[2] + 0.27))


def test_nothing_is_one_too_many_where_others_play_too():
    assert spare(HeardTake(ROUTE)).answer(company=True).plays[0].extras == ()


def test_the_note_after_one_too_many_is_not_late_for_it():
    take = late(spare(HeardTake(ROUTE)), 3, 0.2)
    assert FaultKind.LATE not in kinds(events(take)[3])
    take = late(spare(HeardTake(ROUTE)), 3, 0.3)
    assert FaultKind.LATE in kinds(events(take)[3])


# ------------------------------------------------------------------------------------- before the first one


def led_into(*, gap=0.1, seconds=0.3, midi=DRAW_5, **changes):
    """A take with a sound right before its first note, which begins after a second."""
    take = HeardTake(ROUTE, start=2.0)
    end = take.due[0] - gap
    return take.sounding("before", start=end - seconds, end=end, midi=midi, **changes)


def test_a_note_of_its_own_right_before_the_first_is_told():
    (play,) = led_into().answer().plays
    assert [kinds(one) for one in play.events] == [[FaultKind.BEGUN_BEFORE], *[[]] * 6]
    (extra,) = play.extras
    assert (extra.leads, extra.again, extra.after, extra.move) == (True, False, 0, Move((5,), Breath.DRAW))
    text = format_answer(led_into().answer(), load_catalogue("en"))
    assert "- Before you begin, 5 draw sounds (bar 1).\n  Let the harp be silent, count one bar" in text
    assert "too many" not in text


@pytest.mark.parametrize(
    "changes",
    [
        {"gap": 0.45},  # a tone to listen to, and then the phrase
        {"seconds": 1.6},
        {"seconds": 0.06},
        {"midi": DRAW_5 + 0.5},  # no reed's
        {"level_db": USUAL_DB - 19.0},
        {"confidence": 0.4},
        {"midi": 67.0, "gap": 0.0},  # the first note's own beginning: 2 draw
    ],
)
def test_what_is_no_note_of_its_own_before_the_first_is_not_told(changes):
    assert wrong(led_into(**changes)) == {}


def test_the_way_into_a_bend_is_its_own_beginning():
    take = HeardTake(built_route("2d'' 3d 4d 5d", key="C", bpm=60), start=2.0)
    assert wrong(take.sounding("before", start=1.85, end=2.0, midi=67.0)) == {}


def test_who_warms_up_or_begins_in_the_middle_is_not_told_so():
    warm = led_into()
    warm.sounding("sooner", start=0.8, end=1.2, midi=DRAW_3)
    assert wrong(warm) == {}
    assert wrong(led_into(), company=True) == {}


# ------------------------------------------------------------------------------ what was played in its place


def test_a_missing_note_was_played_as_the_note_that_sounds_when_it_is_due():
    take = HeardTake(ROUTE).silent(2)
    take.sounding("spare", start=take.due[2] + 0.03, end=take.end[2] - 0.05, midi=DRAW_3)
    (play,) = take.answer().plays
    assert play.events[2].held_share == pytest.approx(0.84)
    assert play.events[2].heard == Move((3,), Breath.DRAW)
    assert play.events[2].start_seconds == pytest.approx(take.due[2] + 0.03)
    assert kinds(play.events[2]) == [FaultKind.ANOTHER]
    assert play.extras == ()


def test_a_missing_note_was_played_at_the_next_ones_pitch_if_that_comes_again_when_due():
    take = HeardTake(ROUTE)
    own = take.sounds[3]
    take.silent(2).placing(3, take.due[2], take.end[2] - 0.02)
    take.sounding("spare", start=take.due[2], end=take.end[2] - 0.02, midi=own.midi)
    (play,) = take.answer().plays
    assert play.events[2].heard == Move((5,), Breath.DRAW)
    assert kinds(play.events[2]) == [FaultKind.ANOTHER]
    assert play.events[3].start_seconds == pytest.approx(take.due[3])
    assert not play.events[3].faults
    assert play.extras == ()


def early_and_held(number, *, until=0.4):
    """The note of an event begun when the one before it is due, which is not played, and held on."""
    take = HeardTake(ROUTE).silent(number - 1)
    start, end = take.due[number - 1], take.due[number] + until
    return take.sounding(number, start=start, end=end).placing(number, start, end)


def test_one_sound_over_two_notes_is_the_second_in_place_of_the_first():
    take = early_and_held(3)
    answered = events(take)
    assert wrong(take) == {2: [FaultKind.ANOTHER]}
    assert answered[2].heard == ROUTE.events[3].choice.move
    assert answered[3].start_seconds == answered[2].end_seconds == pytest.approx(take.due[3])
    assert answered[3].late_seconds == pytest.approx(0.0)


def test_a_note_that_is_over_before_it_is_due_is_early_and_the_one_before_is_missing():
    assert wrong(early_and_held(3, until=-0.1)) == {2: [FaultKind.MISSED], 3: [FaultKind.EARLY]}


def test_a_missing_note_under_which_the_one_before_is_struck_softly_was_that_note_again():
    take = HeardTake(ROUTE).silent(3)
    take.sounding(2, end=take.end[3] - 0.02).placing(2, take.due[2], take.end[3] - 0.02)
    take.soft_strikes = [take.due[3] + 0.01]
    take.sounding("again", start=take.due[3] + 0.01, end=take.end[3] - 0.02, midi=take.sounds[2].midi)
    (play,) = take.answer().plays
    assert play.events[3].heard == Move((4,), Breath.DRAW)
    assert play.events[2].end_seconds == pytest.approx(take.due[3] + 0.01)
    take.soft_strikes = []
    assert take.answer().plays[0].events[3].verdict is Verdict.MISSED


# ------------------------------------------------------------------------------------------------ held on


def held(take, number, *, dip_db):
    """The level of an event's own partials, which dip where it begins."""
    start = take.due[number]
    return {number: own_level(start - 0.15, take.end[number] + 0.1, dips=[(start - 0.03, start, dip_db)])}


def test_the_same_note_twice_is_played_once_where_it_does_not_begin_anew():
    take = HeardTake(ROUTE, gap=0.0)
    (play,) = take.answer(levels=held(take, 5, dip_db=1)).plays
    assert play.events[5].verdict is Verdict.MISSED
    assert play.events[4].end_seconds == pytest.approx(take.end[5])
    assert wrong(take, levels=held(take, 5, dip_db=8)) == {}


def test_the_note_before_held_on_is_no_other_note_in_place_of_the_next():
    take = HeardTake(ROUTE, gap=0.0)
    take.sounding(3, midi=take.sounds[2].midi)
    even = {2: own_level(take.due[2] - 0.15, take.end[2] + 0.12, dips=[(0, take.due[2], 60)])}
    (play,) = take.answer(levels=even).plays
    assert play.events[3].verdict is Verdict.MISSED
    assert play.events[2].end_seconds == pytest.approx(take.end[3])
    start = take.due[3]
    struck = {2: own_level(take.due[2] - 0.15, take.end[2] + 0.12, dips=[(start - 0.02, start + 0.02, 9)])}
    assert events(take, levels=struck)[3].verdict is Verdict.ANOTHER


def test_a_note_begins_with_its_own_partials():
    take = HeardTake(ROUTE)
    start = take.due[2]
    later = own_level(start - 0.15, take.end[2] + 0.1, dips=[(start - 0.15, start + 0.08, 40)])
    assert events(take, levels={2: later})[2].start_seconds == pytest.approx(start + 0.072, abs=0.006)
    near = own_level(start - 0.15, take.end[2] + 0.1, dips=[(start - 0.15, start + 0.03, 40)])
    assert events(take, levels={2: near})[2].start_seconds == start


@pytest.mark.parametrize(("begins", "is_late"), [(0.0, False), (0.04, False), (0.17, True)])
def test_a_note_over_which_hands_open_is_no_later_than_it_begins_to_come_up(begins, is_late):
    take = HeardTake(ROUTE)
    start = take.due[2] + begins  # from there on it is heard, 12 decibels softer for an eighth of a second
    opens = own_level(take.due[2] - 0.15, take.end[2] + 0.1, dips=[(0.0, start, 40), (start, start + 0.125, 12)])
    take.sounding(2, start=start + 0.12).placing(2, start + 0.12, take.end[2])
    found = events(take, levels={2: opens})[2]
    assert found.start_seconds > take.due[2] + 0.1
    assert kinds(found) == ([FaultKind.LATE] if is_late else [])


@pytest.mark.parametrize(("before_db", "is_late"), [(40, False), (12, True)])
def test_a_note_over_which_hands_close_when_it_has_begun_begins_before_that(before_db, is_late):
    take = HeardTake(ROUTE)
    start = take.due[2]  # what is 12 decibels softer all the while has not come up before
    closed = [
        (0.0, start, before_db),
        (start, start + 0.05, 0 if before_db == 40 else 12),
        (start + 0.05, start + 0.11, 12),
    ]
    found = events(take, levels={2: own_level(start - 0.15, take.end[2] + 0.1, dips=closed)})[2]
    assert kinds(found) == ([FaultKind.LATE] if is_late else [])
    assert (found.start_seconds == start) is not is_late


def test_a_note_that_glides_may_begin_before_its_own_partials_do():
    take = HeardTake(built_route("2d 3d 4d:1/2^1 5d 4d", key="C", bpm=60))
    start = take.due[2]
    later = own_level(start - 0.15, take.end[2] + 0.1, dips=[(start - 0.15, start + 0.08, 40)])
    assert events(take, levels={2: later})[2].start_seconds == start


def test_a_note_held_through_the_next_is_not_short():
    take = HeardTake(ROUTE, gap=0.0)
    take.placing(4, take.due[4], take.due[4] + 0.2)
    assert FaultKind.SHORT in kinds(events(take)[4])
    assert FaultKind.SHORT not in kinds(events(take, levels=held(take, 5, dip_db=1))[4])


# -------------------------------------------------------------------------------------------------- reeds

CHORDS = built_route("2d [1 4]d:1 4d 5d 4d 6b", key="C", bpm=60)
SOUNDS, SILENT = ReedState.SOUNDS, ReedState.SILENT


def reed(hole, state=SOUNDS, *, asked=True, level_db=0.0, cents=0.0):
    return ReedHeard(
        hole, asked, state, level_db if state is SOUNDS else None, cents if state is SOUNDS else None, 0.9
    )


@pytest.mark.parametrize(
    ("reeds", "found"),
    [
        ((reed(1), reed(4)), []),
        ((reed(1), reed(4, SILENT)), ["hole missing"]),
        ((reed(1), reed(4, SILENT), reed(5, asked=False)), ["hole wrong"]),
        ((reed(1), reed(4), reed(2, asked=False)), ["hole too many"]),
        ((reed(1), reed(4, cents=-20.0)), ["flat"]),
        ((reed(1, cents=20.0), reed(4, cents=-10.0)), ["sharp"]),
        ((reed(1, SILENT), reed(4, SILENT)), []),
    ],
)
def test_several_holes_are_told_by_their_reeds(reeds, found):
    take = HeardTake(CHORDS)
    take.reeds = {1: reeds}
    assert [fault.kind.value for fault in events(take)[1].faults] == found


def test_where_none_of_several_sounds_and_others_do_those_were_played():
    take = HeardTake(CHORDS)
    take.reeds = {1: (reed(1, SILENT), reed(4, SILENT), reed(2, asked=False), reed(3, asked=False))}
    one = events(take)[1]
    assert (one.verdict, one.heard.holes, one.cents) == (Verdict.ANOTHER, (2, 3), None)
    assert kinds(one) == [FaultKind.ANOTHER]


def test_a_hole_beside_that_is_louder_is_a_leak_and_not_another_note():
    take = HeardTake(ROUTE).sounding(2, midi=DRAW_5)
    take.reeds = {2: (reed(4, level_db=-6.0, cents=3.0), reed(5, asked=False))}
    one = events(take)[2]
    assert (one.verdict, kinds(one), one.cents) == (Verdict.PLAYED, [FaultKind.HOLE_TOO_MANY], 3.0)
    take.reeds = {2: (reed(4, level_db=-13.0), reed(5, asked=False))}
    assert events(take)[2].verdict is Verdict.ANOTHER


def test_the_pitch_of_a_leak_that_stands_out_is_not_held_against_the_note():
    take = HeardTake(ROUTE).sounding(2, midi=DRAW_5)
    take.reeds = {2: (reed(4, level_db=-6.0, cents=30.0), reed(5, asked=False))}
    assert kinds(events(take)[2]) == [FaultKind.HOLE_TOO_MANY]


def test_a_chord_is_as_flat_as_its_reeds_whatever_stands_out():
    take = HeardTake(CHORDS).sounding(1, midi=40.0)
    take.reeds = {1: (reed(1), reed(4, cents=-20.0))}
    assert kinds(events(take)[1]) == [FaultKind.FLAT]


@pytest.mark.parametrize(
    ("off", "verdict", "has_cents"), [(50, "played", True), (140, "played", False), (160, "another", True)]
)
def test_only_a_pitch_far_from_all_of_a_chord_speaks_against_it(off, verdict, has_cents):
    take = HeardTake(CHORDS)
    one = events(take.sounding(1, midi=take.score.events[1].midi[1] + off / 100))[1]
    assert one.verdict.value == verdict
    assert (one.cents is not None) is has_cents


def test_a_leak_that_is_followed_in_place_of_its_note_is_no_note_too_many_and_does_not_end_it():
    take = HeardTake(built_route("2d 3d 4d:1 6b 5d", key="C", bpm=60))
    due = take.due[2]
    take.sounding(2, end=due + 0.2).placing(2, due, due + 0.2)
    take.sounding("leak", start=due + 0.2, end=due + 0.9, midi=DRAW_5)
    assert wrong(take) == {2: [FaultKind.EXTRA]}
    take.reeds[2] = (reed(4), reed(5, asked=False, level_db=-1.0))
    assert wrong(take) == {2: [FaultKind.HOLE_TOO_MANY]}


@pytest.mark.parametrize(("own", "found"), [(3, (0.06, 0.48)), (20, (0.06, 0.25))])
def test_a_note_whose_leak_is_followed_is_looked_at_whole(own, found):
    take = HeardTake(ROUTE)
    midi = np.full(48, DRAW_5)
    midi[6 : 6 + own] = take.sounds[2].midi
    lined_up = take.sounding(2, midi=midi).lined_up()
    span, pitch = steady_of(lined_up, lined_up.play_throughs[0].events[2], lined_up.score.events[2])
    assert pitch == pytest.approx(take.sounds[1].midi + 3)
    assert np.array(span) - take.due[2] == pytest.approx(found, abs=0.025)


def test_what_sounds_along_with_a_chord_is_no_note_too_many():
    take = HeardTake(CHORDS)
    take.placing(1, take.due[1], take.due[1] + 0.5).sounding(1, end=take.due[1] + 0.5)
    take.sounding("spare", start=take.due[1] + 0.4, end=take.due[1] + 0.8, midi=DRAW_3)
    assert len(take.answer().plays[0].extras) == 1
    take.reeds = {1: (reed(1), reed(4), reed(3, asked=False))}
    assert take.answer().plays[0].extras == ()


# ------------------------------------------------------------------------------------------------- advice


@pytest.mark.parametrize(("cents", "told"), [(-16.0, True), (-12.0, False)])
def test_what_weighs_little_is_not_worth_practising(cents, told):
    one = HeardTake(ROUTE).answer().plays[0].events[2]
    small = structs.replace(one, faults=(fault_of(FaultKind.FLAT, -cents),))
    assert bool(practise_of([small])) is told


def test_a_spot_is_as_hard_as_the_events_it_holds():
    answer = HeardTake(ROUTE).silent(2).answer()
    (spot,) = answer.plays[0].spots
    assert (spot.first, spot.last) == (1, 2)
    efforts = [Effort({"reach": float(number)}) for number in range(len(ROUTE.events))]
    hard = [structs.replace(one, effort=effort) for one, effort in zip(ROUTE.events, efforts, strict=True)]
    (spot,) = failed_spots(structs.replace(ROUTE, events=tuple(hard)), answer.plays[0].events)
    assert spot.effort == 1 + 2


@pytest.mark.parametrize(("seconds", "notice"), [(0.2, Notice.NO_PITCH), (0.6, Notice.OTHER_MUSIC)])
def test_a_little_tone_in_a_long_silence_is_no_music(seconds, notice):
    take = HeardTake(ROUTE)
    take.sounds = {"one": replace(take.sounds[0], end=take.sounds[0].start + seconds)}
    lined_up = replace(take.lined_up(), play_throughs=())
    answer = answer_of(lined_up, Condition(5.0, 44_100, 1, 0.5, 0.0, 0.9))
    assert answer.notices == (notice,)
    assert answer.best is None


# ------------------------------------------------------------------------------------------------- weights


def test_no_fault_weighs_more_than_a_wrong_note_and_more_of_it_weighs_more():
    assert fault_of(FaultKind.MISSED).weight == fault_of(FaultKind.ANOTHER, 300.0).weight == 1.0
    assert fault_of(FaultKind.FLAT, 40.0).weight == 0.5
    assert fault_of(FaultKind.LATE, 200.0).weight == 0.5
    assert fault_of(FaultKind.FLAT, 20.0).weight < fault_of(FaultKind.FLAT, 400.0).weight < 1.0


def test_every_kind_has_its_weight():
    weights = {
        "hole wrong": 0.8, "restart": 0.8, "hole missing": 0.7, "hole too many": 0.6, "pause": 0.5, "extra": 0.3,
        "short": 0.3,
    }  # fmt: skip
    assert {kind: fault_of(FaultKind(kind), 2.0).weight for kind in weights} == weights
    halves = {"flat": 40.0, "sharp": 40.0, "late": 200.0, "early": 200.0, "unsteady": 40.0, "glide": 1.0}
    assert all(fault_of(FaultKind(kind), amount).weight == 0.5 for kind, amount in halves.items())


def test_the_heaviest_fault_comes_first():
    take = late(HeardTake(ROUTE), 2, 0.3)
    take.sounding(2, midi=take.sounds[2].midi - 0.2)
    faults = events(take)[2].faults
    assert [one.kind for one in faults] == [FaultKind.LATE, FaultKind.FLAT]
    assert faults[0].weight > faults[1].weight


@pytest.mark.parametrize(("gap", "found"), [(0.0, 0), (0.02, 0), (0.06, 1)])
def test_another_note_that_seems_to_begin_anew_is_one_note(gap, found):
    take = HeardTake(built_route("4b 4d:2 5d 4b"))
    wrong, middle = take.sounds[1].midi + 3, take.due[1] + 0.3
    take.sounding(1, midi=wrong, end=middle).placing(1, take.due[1], middle)
    take.sounding("tail", start=middle + gap, end=take.end[1] - 0.02, midi=wrong)
    play = take.answer().plays[0]
    assert len(play.extras) == found
    assert next(fault.kind for fault in play.events[1].faults) is FaultKind.ANOTHER
    assert play.events[1].end_seconds == pytest.approx(take.end[1] - 0.02 if not found else middle)

"""Where the measures of listening change over: time, pitch, slides and cuts, on numbers made for it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from msgspec import structs

from reedpath.harp import Breath, Move, make_harp
from reedpath.hear import HOP_SECONDS, HeardNote, PitchCurve
from reedpath.listen import (
    Extra,
    FaultKind,
    HeardVibrato,
    ReedHeard,
    ReedState,
    Shape,
    format_answer,
    heard_move,
    pieces_heard,
    take_curve,
)
from reedpath.listen.evidence import _placed
from reedpath.listen.expected import pitch_prior, score_of
from reedpath.listen.leads import glide_end, glide_start, slide_heard
from reedpath.listen.moves_heard import is_within_reach, single_pitches
from reedpath.listen.own_partials import HOP_SECONDS as LEVEL_HOP
from reedpath.listen.own_partials import OwnLevel
from reedpath.listen.pitch_measure import measure_pitch
from reedpath.listen.play_through import PlacedEvent
from reedpath.listen.time_map import Pause, time_map
from reedpath.wording import load_catalogue
from support.built_routes import built_route
from support.heard_takes import HeardTake
from support.listened import built_answer, built_curve

NOTHING = np.nan


def curve(*stretches):
    """A pitch curve: so many frames of 10 ms at a MIDI number each, or at one for each frame."""
    midi = np.concatenate([np.full(one[0], one[1]) if isinstance(one, tuple) else one for one in stretches])
    voiced = ~np.isnan(midi)
    hz = 440.0 * 2.0 ** ((midi - 69.0) / 12.0)
    return PitchCurve(np.arange(len(midi)) * HOP_SECONDS, hz, 1.0 * voiced, voiced, np.zeros(len(midi)))


# --------------------------------------------------------------------------------------------------- the time map


def mapped(heard, *, written=None, beat=0.4, **options):
    heard = np.asarray(heard, dtype=float)
    written = 0.3 * np.arange(len(heard)) if written is None else np.asarray(written, dtype=float)
    beats, places = np.full(len(written), beat), np.arange(len(written))
    return time_map(written, beats, places, heard, first=0, last=len(written) - 1, **options)


def moved(count, *places, by):
    """Even onsets, those at some places later by so many seconds."""
    heard = 0.3 * np.arange(count)
    heard[list(places)] += by
    return heard


def test_one_onset_has_the_written_pace():
    due = mapped([5.0])
    assert (due.steady_pace, due.pauses) == (1.0, ())
    assert (due.due_seconds.tolist(), due.pace.tolist()) == ([5.0], [1.0])


def test_onsets_that_are_written_at_once_tell_no_pace():
    assert mapped([5.0, 5.1], written=[0.0, 0.0]).steady_pace == 1.0


def test_two_onsets_tell_the_pace():
    assert mapped([1.0, 1.6], written=[0.0, 0.5]).steady_pace == pytest.approx(1.2)


@pytest.mark.parametrize(("pace", "believed"), [(0.2, 1 / 3), (0.4, 0.4), (4.5, 4.5), (8.0, 5.0)])
def test_a_tempo_is_believed_between_a_fifth_of_the_written_one_and_three_times_it(pace, believed):
    assert mapped(pace * 0.3 * np.arange(12)).steady_pace == pytest.approx(believed)


@pytest.mark.parametrize(
    ("beat", "by", "count"),
    [(0.4, 0.135, 0), (0.4, 0.145, 1), (0.4, -0.145, 1), (1.0, 0.24, 0), (1.0, 0.26, 1), (1.0, -0.26, 1)],
)
def test_a_pause_is_longer_than_a_quarter_of_a_beat_and_than_a_moment(beat, by, count):
    found = mapped(moved(30, *range(12, 30), by=by), beat=beat).pauses
    assert [one.before for one in found] == [12] * count
    assert [one.seconds for one in found] == [pytest.approx(by)] * count


@pytest.mark.parametrize(("places", "first"), [((11,), 11), (range(1, 12), 1)])
@pytest.mark.parametrize(("beat", "by", "count"), [(0.4, 0.55, 0), (0.4, 0.65, 1), (0.8, 0.75, 0), (0.8, 0.85, 1)])
def test_at_either_end_more_is_asked_of_a_pause(places, first, beat, by, count):
    assert [one.before for one in mapped(moved(12, *places, by=by), beat=beat).pauses] == [first] * count


@pytest.mark.parametrize(("last", "found"), [(13, []), (16, [(10, 0.3), (16, -0.3)])])
def test_what_is_soon_taken_back_is_no_pause(last, found):
    pauses = mapped(moved(30, *range(10, last), by=0.3)).pauses
    assert [(one.before, round(one.seconds, 6)) for one in pauses] == found


def test_the_time_is_not_broken_where_it_must_not_be():
    heard = moved(30, *range(12, 30), by=0.5)
    assert mapped(heard).pauses == (Pause(12, pytest.approx(0.5)),)
    assert mapped(heard, unbroken=frozenset({12})).pauses == ()
    assert len(mapped(heard, unbroken=frozenset({11, 13})).pauses) == 1


def test_a_pause_does_not_slow_the_tempo():
    due = mapped(moved(30, *range(12, 30), by=3.0))
    assert due.steady_pace == pytest.approx(1.0)
    assert due.due_seconds == pytest.approx(moved(30, *range(12, 30), by=3.0), abs=1e-6)


@pytest.mark.parametrize("place", range(1, 8))
def test_a_long_pause_among_few_notes_is_one_and_no_slow_tempo(place):
    due = mapped(moved(8, *range(place, 8), by=3.0))
    assert due.pauses == (Pause(place, pytest.approx(3.0)),)
    assert due.steady_pace == pytest.approx(1.0)


@pytest.mark.parametrize("slow", [1.7, 2.5])
def test_few_notes_that_are_slow_or_slow_down_have_no_pause(slow):
    even = slow * 0.3 * np.arange(8)
    assert mapped(even).pauses == ()
    assert mapped(even).steady_pace == pytest.approx(slow)
    slowing = np.cumsum(np.concatenate([[0.0], 0.3 * np.linspace(1.0, 1.8, 7)]))
    assert mapped(slowing).pauses == ()


def test_places_count_from_the_first_that_is_due():
    written, beats = 0.5 * np.arange(10), np.full(10, 0.5)
    due = time_map(written, beats, np.array([3, 4, 6]), 2.0 + written[[3, 4, 6]], first=2, last=7)
    assert due.first == 2
    assert due.due_seconds == pytest.approx(2.0 + written[2:8])


# ------------------------------------------------------------------------------ where an event begins in company


def begins(*others: HeardNote, company: bool = True) -> float:
    """Where an event placed at 2 s begins whose own partials rise at 1.9 s, with these notes heard before it."""
    expected = score_of(built_route("4b:1 4d:1", bpm=60.0)).events[1]
    level = np.full(round(3.5 / LEVEL_HOP), -60.0, dtype=np.float32)
    level[round(1.9 / LEVEL_HOP) :] = -20.0
    placed = PlacedEvent(1, 2.0, 3.0, True, 2.0, 1.0, 1.0)
    return _placed(
        curve((200, NOTHING), (100, expected.midi[0])), others, placed, expected, OwnLevel(0.0, level), None,
        company=company,
    ).start_seconds  # fmt: skip


def sounding_until(end: float) -> HeardNote:
    return HeardNote(1.0, end, 60, 0.0, 1.0, -20.0, True, np.zeros(0), np.zeros(0))


def test_in_company_an_event_begins_by_its_own_partials_but_not_before_the_note_before_it_ends():
    alone = begins()
    assert 1.85 <= alone < 2.0
    assert begins(sounding_until(1.5)) == alone
    assert begins(sounding_until(1.97)) == pytest.approx(1.97)
    assert begins(sounding_until(1.97), company=False) == pytest.approx(begins(company=False))


# --------------------------------------------------------------------------------------------- the measured pitch


@pytest.mark.parametrize(
    ("off", "shape", "seconds"),
    [
        (0.34, Shape.STRUCK, 0.0),
        (0.4, Shape.FROM_ABOVE, 0.08),
        (-0.4, Shape.FROM_BELOW, 0.08),
        (-0.34, Shape.STRUCK, 0.0),
    ],
)
def test_a_note_comes_from_elsewhere_where_it_starts_a_third_of_a_semitone_off(off, shape, seconds):
    found = measure_pitch(curve((8, 70.0 + off), (40, 70.0)), 0.0, 0.48)
    assert (found.midi, found.start_midi, found.end_midi) == pytest.approx((70.0, 70.0 + off, 70.0))
    assert (found.shape, found.glide_seconds) == (shape, pytest.approx(seconds))


def test_a_glide_is_counted_from_the_start_of_its_note():
    found = measure_pitch(curve((30, NOTHING), (8, 70.5), (40, 70.0)), 0.3, 0.78)
    assert found.glide_seconds == pytest.approx(0.08)


def test_where_half_of_a_note_glides_its_level_is_where_it_stays():
    found = measure_pitch(curve(np.linspace(75.0, 71.0, 22), (20, 70.0)), 0.0, 0.42)
    assert found.midi == pytest.approx(70.0)


def test_the_end_of_a_note_is_told_by_its_last_moments():
    found = measure_pitch(curve((40, 70.0), (8, 69.0)), 0.0, 0.48)
    assert (found.midi, found.end_midi) == pytest.approx((70.0, 69.0))


@pytest.mark.parametrize(
    ("cents", "hz", "frames", "told"),
    [
        (7.5, 5.5, 80, False),
        (9.0, 5.5, 80, True),
        (25.0, 5.5, 50, False),
        (25.0, 5.5, 64, True),
        (25.0, 2.5, 80, False),
        (25.0, 8.1, 80, True),
        (25.0, 10.0, 80, False),
    ],
)
def test_a_vibrato_is_deep_quick_and_long_enough(cents, hz, frames, told):
    at = np.arange(frames) * HOP_SECONDS
    found = measure_pitch(curve(70.0 + cents / 100 * np.sin(2 * np.pi * hz * at)), 0.0, frames * HOP_SECONDS)
    assert isinstance(found.vibrato, HeardVibrato) is told


def test_of_three_frames_nothing_is_told_of_how_still_they_are():
    found = measure_pitch(curve(np.array([70.0, 70.1, 70.2])), 0.0, 0.03)
    assert (found.unsteady_cents, found.vibrato) == (0.0, None)


def test_a_straight_way_is_steady():
    found = measure_pitch(curve(np.linspace(70.0, 70.2, 60)), 0.0, 0.6)
    assert found.unsteady_cents == pytest.approx(0.0, abs=1e-6)


# ------------------------------------------------------------------------------------------------------ the slides

ROUTE = built_route("3d 4d 5d", key="C", bpm=60)
BLOW_4 = Move((4,), Breath.BLOW)


def expected(**leads):
    choice = structs.replace(ROUTE.events[1].choice, **leads)
    events = list(ROUTE.events)
    events[1] = structs.replace(events[1], choice=choice)
    return score_of(structs.replace(ROUTE, events=tuple(events))).events[1]


INTO, OUT_OF = expected(lead_in=(BLOW_4,)), expected(lead_out=(BLOW_4,))
OWN, WAY = INTO.midi[0], INTO.lead_in[0]


def slid(found, *stretches, span, free=(0.0, 9.0), notes=()):
    heard = slide_heard(curve(*stretches), notes, found, span, free)
    return pytest.approx((heard.start_seconds, heard.arrives_seconds, heard.leaves_seconds, heard.end_seconds))


def test_the_way_in_is_found_before_the_note():
    stretches = ((100, NOTHING), (10, WAY), (40, OWN), (20, NOTHING))
    assert slid(INTO, *stretches, span=(1.1, 1.5)) == (1.0, 1.1, 1.5, 1.5)
    # placed with its way already
    assert slid(INTO, *stretches, span=(1.0, 1.5)) == (1.0, 1.1, 1.5, 1.5)
    # nothing is asked
    assert slid(expected(), *stretches, span=(1.1, 1.5)) == (1.1, 1.1, 1.5, 1.5)


def test_the_way_out_is_found_after_the_note():
    stretches = ((100, NOTHING), (40, OWN), (10, WAY), (40, NOTHING))
    assert slid(OUT_OF, *stretches, span=(1.0, 1.4)) == (1.0, 1.0, 1.4, 1.5)
    assert slid(expected(), *stretches, span=(1.0, 1.4)) == (1.0, 1.0, 1.4, 1.4)


@pytest.mark.parametrize(("frames", "start"), [(2, 1.5), (3, 1.47), (10, 1.4), (30, 1.25)])
def test_a_note_on_the_way_lasts_from_a_moment_to_a_quarter_of_a_second(frames, start):
    stretches = ((150 - frames, NOTHING), (frames, WAY), (40, OWN))
    assert slid(INTO, *stretches, span=(1.5, 1.9)) == (start, 1.5, 1.9, 1.9)


@pytest.mark.parametrize(("gap", "end"), [(6, 1.56), (7, 1.4)])
def test_the_breath_may_turn_within_a_slide_but_not_stop(gap, end):
    stretches = ((100, NOTHING), (40, OWN), (gap, NOTHING), (10, WAY), (40, NOTHING))
    found = slide_heard(curve(*stretches), (), OUT_OF, (1.0, 1.4), (0.0, 9.0))
    assert found.end_seconds == pytest.approx(end)


def test_a_slide_keeps_to_what_its_neighbours_leave_free():
    stretches = ((100, NOTHING), (10, WAY), (40, OWN))
    assert slid(INTO, *stretches, span=(1.1, 1.5), free=(1.05, 9.0)) == (1.05, 1.1, 1.5, 1.5)
    out = ((100, NOTHING), (40, OWN), (10, WAY), (40, NOTHING))
    assert slid(OUT_OF, *out, span=(1.0, 1.4), free=(0.0, 1.45)) == (1.0, 1.0, 1.4, 1.45)


def test_a_note_that_never_reaches_its_pitch_arrives_at_once():
    assert slid(INTO, (100, NOTHING), (40, WAY), span=(1.1, 1.4)) == (1.0, 1.0, 1.4, 1.4)


@pytest.mark.parametrize(("at", "start"), [(1.02, 1.02), (0.98, 0.98), (1.04, 1.0)])
def test_a_note_that_was_heard_to_begin_about_then_gives_the_exact_time(at, start):
    nothing = np.zeros(0)
    notes = [HeardNote(at, 1.5, 72, 0.0, 1.0, -20.0, True, nothing, nothing)]
    stretches = ((100, NOTHING), (10, WAY), (40, OWN))
    found = slide_heard(curve(*stretches), notes, INTO, (1.1, 1.5), (0.0, 9.0))
    assert found.start_seconds == pytest.approx(start)


@pytest.mark.parametrize(
    ("frames", "glide", "start"), [(2, -1.0, 1.5), (3, -1.0, 1.47), (10, -1.0, 1.4), (10, 1.0, 1.5), (30, -1.0, 1.3)]
)
def test_a_glide_begins_its_event_where_it_is_asked_and_heard(frames, glide, start):
    stretches = ((150 - frames, NOTHING), (frames, OWN - 1.0), (40, OWN))
    assert glide_start(curve(*stretches), (), expected(), glide, (0.0, 1.5)) == pytest.approx(start)


@pytest.mark.parametrize(
    ("frames", "glide", "end"), [(2, -1.0, 1.5), (3, -1.0, 1.53), (10, -1.0, 1.6), (10, 1.0, 1.5), (30, -1.0, 1.7)]
)
def test_a_fall_belongs_to_its_event_as_far_as_it_is_asked_and_heard(frames, glide, end):
    heard = curve((100, NOTHING), (50, OWN), (frames, OWN - 1.0), (100, NOTHING))
    assert glide_end(heard, expected(), glide, (1.5, 9.0)) == pytest.approx(end)
    assert glide_end(heard, expected(), glide, (1.5, 1.54)) == pytest.approx(min(end, 1.54))


def test_a_glide_does_not_begin_before_the_note_before_it_ends():
    stretches = ((140, NOTHING), (10, OWN - 1.0), (40, OWN))
    assert glide_start(curve(*stretches), (), expected(), -1.0, (1.45, 1.5)) == pytest.approx(1.45)
    assert glide_start(curve(*stretches), (), expected(), -1.0, (1.5, 1.5)) == 1.5


# ------------------------------------------------------------------------------------------- moves and the harp


def test_a_harp_reaches_half_a_semitone_beyond_its_last_moves():
    harp = make_harp("C")
    pitches = [pitch for _, pitch in single_pitches(harp)]
    low, high = min(pitches), max(pitches)
    inside = [is_within_reach(harp, midi) for midi in (low - 0.59, high + 0.59)]
    outside = [is_within_reach(harp, midi) for midi in (low - 0.61, high + 0.61)]
    assert (inside, outside) == ([True, True], [False, False])


def test_the_prior_of_a_harp_is_flat_over_its_reach_and_low_beyond():
    prior = pitch_prior(make_harp("C"))
    midi, log = prior[:, 0], prior[:, 1]
    assert log.tolist() == [-2.0, -2.0, 0.0, 0.0, -2.0, -2.0]
    assert np.diff(midi)[[0, 1, 3, 4]] == pytest.approx([29.9, 0.1, 0.1, 29.9])
    pitches = [pitch for _, pitch in single_pitches(make_harp("C"))]
    assert midi[2] == pytest.approx(min(pitches) - 0.6)
    assert midi[3] >= max(pitches) + 0.6 - 1e-9


@pytest.mark.parametrize(
    ("near", "holes"), [(Move((1,), Breath.DRAW), (2,)), (Move((3,), Breath.BLOW), (3,)), (None, (2, 3))]
)
def test_of_reeds_that_sound_alike_the_nearer_one_is_heard(near, holes):
    found = heard_move(make_harp("C"), 67.0, near=() if near is None else (near,))
    assert set(found.move.holes) <= set(holes)
    assert found.cents == pytest.approx(0.0, abs=20.0)


def test_what_is_expected_moves_with_the_tuning_of_the_harp():
    score = score_of(ROUTE)
    tuned = score.tuned(50.0).tuned(-20.0)
    assert tuned.tuned_cents == pytest.approx(30.0)
    for one, other in zip(score.events, tuned.events, strict=True):
        assert other.midi == pytest.approx([midi + 0.3 for midi in one.midi])
        assert (other.low - one.low, other.high - one.high) == pytest.approx((0.3, 0.3))
    assert INTO.tuned(100.0).lead_in == pytest.approx([WAY + 1.0])
    assert OUT_OF.tuned(100.0).lead_out == pytest.approx([WAY + 1.0])
    assert (INTO.low, OUT_OF.low, INTO.high) == pytest.approx((WAY, WAY, OWN))


# ----------------------------------------------------------------------------------------- what others play is cut


def note(start, end):
    at = np.arange(start, end - 1e-9, 0.1)
    return HeardNote(start, end, 60, 0.0, 1.0, -20.0, True, at, 60.0 + at)


@pytest.mark.parametrize(
    ("span", "left"),
    [
        ((2.0, 3.0), (1.0, 2.0)),
        ((0.0, 1.0), (1.0, 2.0)),
        ((1.96, 3.0), (1.0, 1.96)),
        ((0.0, 1.5), (1.5, 2.0)),
        ((1.2, 1.6), (1.6, 2.0)),
        ((1.6, 1.8), (1.0, 1.6)),
        ((1.06, 3.0), (1.0, 1.06)),
        ((1.04, 3.0), None),
        ((0.0, 3.0), None),
    ],
)
def test_of_a_note_the_longer_part_outside_is_left(span, left):
    hearing = replace(HeardTake(ROUTE).lined_up().hearing, notes=(note(1.0, 2.0),))
    found = hearing.without([span]).notes
    assert [(one.start_seconds, one.end_seconds) for one in found] == ([] if left is None else [left])
    for one in found:
        inside = [at for at in note(1.0, 2.0).contour_seconds if left[0] <= at < left[1]]
        assert one.contour_seconds.tolist() == inside
        assert one.contour_midi.tolist() == [60.0 + at for at in inside]


def test_nothing_is_heard_between_the_times_of_others():
    hearing = HeardTake(ROUTE).lined_up().hearing
    cut = hearing.without([(0.6, 0.7), (1.1, 1.2)]).curve
    gone = hearing.curve.voiced & ~cut.voiced
    assert hearing.curve.seconds[gone] == pytest.approx([*np.arange(0.6, 0.695, 0.01), *np.arange(1.1, 1.195, 0.01)])
    assert np.isnan(cut.hz[gone]).all()
    assert not cut.confidence[gone].any()
    kept = ~gone
    assert np.array_equal(cut.hz[kept], hearing.curve.hz[kept], equal_nan=True)


# -------------------------------------------------------------------------------------------------------- the picture


def test_a_take_is_drawn_as_if_its_harp_were_in_tune():
    answer = built_answer(ROUTE)
    drawn = take_curve(answer.plays[0], ROUTE, built_curve(answer), tuned_cents=30.0)
    for stroke in drawn.strokes:
        assert np.nanmedian(stroke.semitones) == pytest.approx(-0.3, abs=0.01)
        assert stroke.is_right


@pytest.mark.parametrize(("off", "drawn"), [(3.4, True), (3.6, False), (-3.4, True), (-3.6, False)])
def test_a_slip_of_the_tracker_is_not_drawn(off, drawn):
    answer = built_answer(ROUTE)
    heard = built_curve(answer)
    (stroke, *_) = take_curve(answer.plays[0], ROUTE, replace(heard, hz=heard.hz * 2.0 ** (off / 12.0))).strokes
    assert np.isnan(stroke.semitones).all() != drawn


def test_what_is_too_many_and_what_is_missed_is_told_by_the_picture():
    extra = Extra(1.6, 1.9, 1, False, BLOW_4, 0.0)
    answer = built_answer(ROUTE, {1: (FaultKind.MISSED, 0.0), 2: (FaultKind.LATE, 80.0)}, extras=(extra,))
    drawn = take_curve(answer.plays[0], ROUTE, built_curve(answer))
    assert drawn.missed == (1,)
    assert {(one.event, one.hole, one.is_right) for one in drawn.strokes} == {
        (0, 3, True),
        (2, 5, False),
        (None, 4, False),
    }
    starts = [one.beats[0] for one in drawn.strokes]
    assert starts == sorted(starts)


@pytest.mark.parametrize(("seconds", "points"), [(0.01, 2), (0.02, 2), (0.1, 10)])
def test_each_reed_of_a_short_chord_is_a_line_of_two_points_at_least(seconds, points):
    route = built_route("(4 5)d:1", bpm=60)
    answer = built_answer(route)
    (one,) = answer.plays[0].events
    reeds = tuple(ReedHeard(hole, True, ReedState.SOUNDS, cents=10.0) for hole in (4, 5))
    short = structs.replace(one, end_seconds=one.start_seconds + seconds, reeds=reeds)
    play = structs.replace(answer.plays[0], events=(short,))
    drawn = take_curve(play, route, built_curve(answer))
    assert [(stroke.hole, len(stroke.beats)) for stroke in drawn.strokes] == [(4, points), (5, points)]
    assert [stroke.semitones[0] for stroke in drawn.strokes] == pytest.approx([0.1, 0.1])


def test_of_a_short_note_one_moment_at_its_pitch_is_enough_to_arrive():
    # of its eight frames the two at either edge are left out
    found = measure_pitch(curve(np.array([70.5, 70.5, 70.5, 70.0, 70.5, 70.0, 70.0, 70.0])), 0.0, 0.08)
    assert (found.midi, found.shape) == (pytest.approx(70.0), Shape.FROM_ABOVE)
    assert found.glide_seconds == pytest.approx(0.03)


def test_what_is_heard_of_a_route_counts_by_how_sure_it_is():
    take = HeardTake(ROUTE)
    lengths = [placed.end_seconds - placed.start_seconds for placed in take.placed.values()]
    assert pieces_heard._heard_seconds(take.lined_up()) == pytest.approx(0.9 * sum(lengths))
    missing = HeardTake(ROUTE).silent(1)
    assert pieces_heard._heard_seconds(missing.lined_up()) == pytest.approx(0.9 * (lengths[0] + lengths[2]))


def test_nine_things_are_told_in_all():
    holes = built_route("1b 2b 3b 4b 5b 6b 7b 8b 9b 10b 1d 4d")
    answer = built_answer(holes, {index: (FaultKind.FLAT, 40.0) for index in range(12)})
    text = format_answer(answer, load_catalogue("en"), everything=True)
    lines = [line for line in text.splitlines() if line.startswith("- ")]
    assert len(lines) - len(answer.plays[0].spots) == 9

"""Other instruments in a take: known by tones that no reed of the event makes, and not told of the player."""

from __future__ import annotations

import numpy as np
import pytest

from reedpath.harp import Breath, Move, make_harp, sound_of
from reedpath.listen import FaultKind, Verdict, answer_take
from reedpath.listen.company import NO_COMPANY, BesideOthers, Company, OthersHeard, alone_in, company_of, others_db
from reedpath.listen.own_partials import HOP_SECONDS, OwnLevel, begins_anew, second_starts, sounds_on, swing_db
from reedpath.listen.reed_spectrum import ReedSpectrum
from reedpath.sound import play_with_band
from support.built_routes import built_lesson, built_route
from support.heard_takes import HeardTake, own_level
from support.sample_bank import FLUID_BANK

RATE, HARP = 22_050, make_harp("A")
PHRASE = "2d:1 3d':1 4b:1 4d:1 5d:1 4d:1 4b:1 3d':1 2d:1 1d:1 2d:1 3d':1 4b:1 4d:1 2d:2"


def tone(hz, decibels=0.0, seconds=0.5):
    """A tone of ten partials, each softer than the one before."""
    at = np.arange(round(seconds * RATE)) / RATE
    partials = sum(np.sin(2 * np.pi * hz * n * at + n) / n for n in range(1, 11))
    return (0.1 * 10.0 ** (decibels / 20.0) * partials).astype(np.float32)


def heard(move, others=(), **given):
    """What `others_db` hears beside a move's own reed, with tones of so many hertz and decibels."""
    own = sound_of(HARP, move).hz[0]
    sound = sum((tone(hz, level) for hz, level in others), tone(own))
    return others_db(ReedSpectrum(sound, RATE), HARP, move, [own], **given)


FOUR_DRAW = Move((4,), Breath.DRAW)
C_SHARP_FIVE = 440.0 * 2.0 ** (4 / 12)


def test_a_reed_alone_has_no_company():
    assert heard(FOUR_DRAW) == -np.inf


def test_a_tone_of_no_reed_within_reach_is_anothers():
    assert heard(FOUR_DRAW, [(C_SHARP_FIVE, -9.0)]) == pytest.approx(-9.0, abs=1.0)
    assert heard(FOUR_DRAW, [(C_SHARP_FIVE, -30.0)]) == -np.inf


def test_a_hole_beside_and_the_note_before_are_nobody_elses():
    beside = sound_of(HARP, Move((5,), Breath.DRAW)).hz[0]
    assert heard(FOUR_DRAW, [(beside, -6.0)]) == -np.inf
    assert heard(FOUR_DRAW, [(C_SHARP_FIVE, -9.0)], ringing_hz=[C_SHARP_FIVE]) == -np.inf


@pytest.mark.parametrize(
    ("count", "of", "leaky", "is_heard"),
    [(0, 40, 0, False), (2, 40, 0, False), (8, 40, 0, True), (3, 15, 0, True), (2, 6, 0, False), (1, 40, 1, True)],
)
def test_a_share_of_the_events_tells_of_company(count, of, leaky, is_heard):
    events = [OthersHeard(-10.0 if number < count else -np.inf, number < leaky) for number in range(of)]
    assert company_of(events).is_heard is is_heard


def test_what_is_louder_than_the_company_is_the_players():
    company = Company(is_heard=True, level_db=-18.0)
    assert (company.may_sound(-14.0), company.may_sound(-8.0), company.may_sound(None)) == (True, False, True)
    assert (company.may_play(-10.0), company.may_play(-3.0)) == (True, False)
    assert not NO_COMPANY.may_sound(-30.0)
    assert not NO_COMPANY.may_play(-30.0)


LOUD_BAND = Company(is_heard=True, level_db=-9.0)


def beside(start, *own_db, others_db=-9.0):
    """Events of a second each, of which something else sounds where their own level is None."""
    return [BesideOthers(start + n, start + n + 1.0, own, others_db) for n, own in enumerate(own_db)]


OVER_THE_BAND = beside(0.0, *[-26.0] * 8)


@pytest.mark.parametrize(
    "tail", [[-39.0, None, -36.0, None], [None, -39.0, None, None, -38.0], [-33.0, None, None, -34.0]]
)
def test_soft_events_at_an_end_of_which_few_are_what_was_asked_are_the_companys(tail):
    (start, end), *rest = alone_in([[*OVER_THE_BAND, *beside(8.0, *tail)]], LOUD_BAND)
    assert (start, end, rest) == (8.0, 8.0 + len(tail), [])
    shifted = [*beside(0.0, *tail), *beside(float(len(tail)), *[-26.0] * 8)]
    assert alone_in([shifted], LOUD_BAND) == ((0.0, float(len(tail))),)


def test_a_player_who_fades_out_is_the_player():
    assert alone_in([[*OVER_THE_BAND, *beside(8.0, -29.0, -33.0, -36.0, -39.0)]], LOUD_BAND) == ()
    assert alone_in([[*OVER_THE_BAND, *beside(8.0, None, None, -25.0)]], LOUD_BAND) == ()


def test_what_is_louder_than_the_company_ever_was_is_the_players():
    soft = [*OVER_THE_BAND, *beside(8.0, -34.0, None, -34.0, None)]
    assert alone_in([soft], LOUD_BAND) != ()
    assert alone_in([soft], Company(is_heard=True, level_db=-20.0)) == ()
    assert alone_in([soft], NO_COMPANY) == ()


def test_a_soft_play_through_is_the_companys_where_other_tones_are_as_loud():
    after = beside(8.0, *[-38.0] * 6, others_db=3.0)
    assert alone_in([OVER_THE_BAND, after], LOUD_BAND) == ((8.0, 14.0),)
    assert alone_in([OVER_THE_BAND, beside(8.0, *[-38.0] * 6)], LOUD_BAND) == ()


def test_one_soft_event_is_the_companys_after_a_pause_only():
    played = [*OVER_THE_BAND, BesideOthers(14.0, 15.0, -38.0, 1.0, after_pause=True)]
    assert alone_in([played], LOUD_BAND) == ((14.0, 15.0),)
    assert alone_in([[*OVER_THE_BAND, BesideOthers(8.0, 9.0, -38.0, 1.0)]], LOUD_BAND) == ()
    assert alone_in([[*OVER_THE_BAND, BesideOthers(14.0, 15.0, -28.0, 1.0, after_pause=True)]], LOUD_BAND) == ()
    leading = [BesideOthers(0.0, 1.0, -38.0, 1.0), *beside(5.0, *[-26.0] * 8)]
    leading[1] = BesideOthers(5.0, 6.0, -26.0, -9.0, after_pause=True)
    assert alone_in([leading], LOUD_BAND) == ((0.0, 1.0),)


def test_one_event_after_a_pause_is_the_companys_that_is_no_louder_than_they():
    for level_db, stretches in ((-34.0, ((14.0, 15.0),)), (-31.0, ())):
        last = BesideOthers(14.0, 15.0, level_db, -9.0, after_pause=True)
        assert alone_in([[*OVER_THE_BAND, last]], LOUD_BAND) == stretches


def test_the_harps_own_notes_are_in_no_stretch_of_the_companys():
    overlapping = [BesideOthers(6.5, 7.5), *beside(8.0, -38.0, None, -38.0), BesideOthers(10.5, 11.8)]
    following = beside(11.4, *[-26.0] * 8)
    assert alone_in([OVER_THE_BAND, overlapping, following], LOUD_BAND) == ((8.0, 11.4),)


def test_what_only_others_play_is_not_heard():
    take = HeardTake(built_route("2d:1 4b:1 5d:1", key="A", bpm=60))
    hearing = take.lined_up().hearing
    left = hearing.without([(1.4, 2.1)])
    assert [(one.start_seconds, one.end_seconds) for one in left.notes] == [(0.5, 1.4), (2.1, 2.48), (2.5, 3.48)]
    inside = (left.curve.seconds >= 1.4) & (left.curve.seconds < 2.1)
    assert not left.curve.voiced[inside].any()
    assert np.isnan(left.curve.hz[inside]).all()
    assert (left.curve.voiced[~inside] == hearing.curve.voiced[~inside]).all()


def test_a_note_that_goes_on_after_the_others_begins_there():
    take = HeardTake(built_route("2d:1 4b:1", key="A", bpm=60))
    (note, _) = take.lined_up().hearing.without([(0.0, 0.7)]).notes
    assert (note.start_seconds, note.end_seconds) == (0.7, 1.48)


def level_of(decibels):
    return OwnLevel(0.0, np.asarray(decibels, dtype=np.float32))


def tongued(count, seconds=1.2, gap=0.04):
    """A level with so many stops, evenly apart."""
    at = np.arange(0.0, seconds, HOP_SECONDS)
    stopped = np.any([np.abs(at - seconds * n / (count + 1)) < gap / 2 for n in range(1, count + 1)], axis=0)
    return level_of(np.where(stopped, -45.0, -20.0))


def test_a_tremolo_is_no_second_strike():
    at = np.arange(0.0, 1.2, HOP_SECONDS)
    level = level_of(-25.0 + 5.0 * np.cos(2 * np.pi * 4.5 * at))
    swing = swing_db(level, 0.08, 1.14)
    assert swing == pytest.approx(10.0, abs=0.5)
    assert begins_anew(level, 0.55, 1.2)
    assert not begins_anew(level, 0.55, 1.2, swing=swing)


def test_a_reed_that_is_stopped_regularly_does_not_swing():
    level = tongued(4)
    assert swing_db(level, 0.08, 1.14) == 0.0
    assert len(second_starts(level, 0.0, 1.2)) == 4


def test_what_lasts_for_a_moment_is_no_second_start():
    values = np.full(150, -20.0)
    values[60:] = -50.0
    values[[90, 100]] = -25.0
    assert second_starts(level_of(values), 0.0, 1.2) == []


@pytest.mark.parametrize(("struck", "start"), [(False, 0.88), (True, 1.0)])
def test_a_note_that_only_others_strike_begins_where_its_pitch_comes(struck, start):
    take = HeardTake(built_route("2d:1 3d':1 4b:1", key="A", bpm=120))
    take.sounding(0, end=0.88).sounding(1, start=0.88).placing(1, 1.0, 1.48)
    dips = [(0.96, 1.0, 12.0)] if struck else []
    (play,) = take.answer(company=True, levels={1: own_level(0.8, 1.6, dips=dips)}).plays
    assert play.events[1].start_seconds == pytest.approx(start, abs=0.011)


def start_over_others(dips, *, due=1.0, placed=1.1, **sounds):
    """When the second of three notes is told to begin, placed late while others play."""
    take = HeardTake(built_route("2d:1 3d':1 4b:1", key="A", bpm=120))
    take.sounding(0, end=0.98).sounding(1, start=placed).placing(1, placed, 1.48)
    for name, sound in sounds.items():
        take.sounding(name, **sound)
    return take.answer(company=True, levels={1: own_level(0.8, 1.6, dips=dips)}).plays[0].events[1].start_seconds


def test_a_note_whose_start_others_cover_begins_when_it_was_due():
    silent_until_due = [(0.8, 0.98, 40.0)]
    assert start_over_others(silent_until_due) == pytest.approx(1.0, abs=0.021)
    drum = {"start": 0.99, "end": 1.1, "midi": 90.0}
    assert start_over_others(silent_until_due, drum=drum) == pytest.approx(1.0, abs=0.021)


def test_a_note_that_is_late_over_others_is_late():
    assert start_over_others([(0.8, 1.09, 40.0)]) == pytest.approx(1.1, abs=0.011)
    wrong = {"start": 0.99, "end": 1.08, "midi": 72.0}
    assert start_over_others([(0.8, 1.07, 40.0)], wrong=wrong) == pytest.approx(1.08, abs=0.011)


def test_an_early_note_that_others_part_when_it_was_due_is_early():
    """Its own pitch is heard from then on: the part before their strike is no note before it."""
    own = built_route("2d:1 3d':1 4b:1", key="A", bpm=120)
    early = {"start": 0.85, "end": 0.99, "midi": HeardTake(own).score.events[1].midi[0]}
    take = HeardTake(own).sounding(0, end=0.83).sounding(1, start=0.99).placing(1, 0.99, 1.48)
    take.sounding("early", **early)
    levels = {0: own_level(0.3, 1.1, dips=[(0.85, 1.1, 40.0)]), 1: own_level(0.65, 1.6, dips=[(0.65, 0.86, 40.0)])}
    (play,) = take.answer(company=True, levels=levels).plays
    assert play.events[1].start_seconds == pytest.approx(0.86, abs=0.021)
    assert [fault.kind for fault in play.events[1].faults] == [FaultKind.EARLY]


def test_a_repeated_note_that_is_late_is_late_though_others_strike_when_it_was_due():
    take = HeardTake(built_route("2d:1 4b:1 4b:1 5d:1", key="A", bpm=120))
    due, end = take.due[2], take.end[2]
    take.strikes = [due, due + 0.16]
    levels = {
        1: own_level(take.due[1] - 0.2, due + 0.12),
        2: own_level(due - 0.2, end + 0.12, dips=[(due + 0.12, due + 0.15, 30.0)]),
    }
    (play,) = take.answer(company=True, levels=levels).plays
    assert play.events[2].start_seconds == pytest.approx(due + 0.15, abs=0.021)
    assert {one.event: [fault.kind for fault in one.faults] for one in play.events if one.faults} == {
        2: [FaultKind.LATE]
    }
    assert play.events[1].end_seconds == pytest.approx(due + 0.15, abs=0.021)
    assert play.extras == ()


def test_a_note_before_that_has_ended_long_since_does_not_hide_when_the_next_begins():
    at = np.arange(0.0, 1.0, HOP_SECONDS)
    faded = OwnLevel(0.0, np.where(at < 0.3, -25.0, -60.0).astype(np.float32))
    assert sounds_on(faded, 0.6) == 0.6


def test_a_note_slurred_to_begins_where_its_pitch_comes_though_others_strike_a_little_later():
    take = HeardTake(built_route("2d:1 3d':1 4b:1", key="A", bpm=120))
    before, own = take.score.events[0].midi[0], take.score.events[1].midi[0]
    slur = np.where(np.arange(57) < 51, before, own)
    take.sounding(0, end=1.07, midi=slur).sounding(1, start=1.07).placing(1, 1.07, 1.48)
    (play,) = take.answer(company=True, levels={1: own_level(0.8, 1.6, dips=[(0.8, 0.93, 30.0)])}).plays
    assert play.events[1].start_seconds == pytest.approx(1.0, abs=0.011)


@pytest.mark.parametrize(("length", "verdict"), [("1/5", Verdict.PLAYED), ("1", Verdict.MISSED)])
def test_a_short_note_that_others_cover_is_played_where_its_partials_sound(length, verdict):
    take = HeardTake(built_route(f"2d:1 3d':{length} 4b:1", key="A", bpm=120)).silent(1)
    sounds, silent = own_level(0.9, 1.6), own_level(0.9, 1.6, dips=[(0.9, 1.6, 30.0)])
    levels = {0: own_level(0.4, 1.1), 2: own_level(0.9, 2.0)}
    told = [
        take.answer(company=company, levels=levels, covered={1: covered}).plays[0].events[1].verdict
        for company, covered in ((True, sounds), (True, silent), (False, sounds))
    ]
    assert told == [verdict, Verdict.MISSED, Verdict.MISSED]


def test_what_others_cover_is_neither_right_nor_wrong():
    take = HeardTake(built_route("2d:1 3d':1/5 4b:1", key="A", bpm=120)).silent(1)
    levels = {0: own_level(0.4, 1.1), 2: own_level(0.9, 2.0)}
    (play,) = take.answer(company=True, levels=levels, covered={1: own_level(0.9, 1.6)}).plays
    assert [one.covered for one in play.events] == [False, True, False]
    assert not play.events[1].faults
    assert not play.events[1].is_right
    assert (play.right, len(play.heard_events), play.right_share) == (2, 2, 1.0)
    (play,) = take.answer(company=True, levels=levels).plays
    assert (play.right, len(play.heard_events)) == (2, 3)


@pytest.mark.parametrize(("softer_db", "verdict"), [(0.0, Verdict.ANOTHER), (9.0, Verdict.MISSED)])
def test_a_note_of_the_others_is_not_told_to_be_played_in_place_of_one_that_is_left_out(softer_db, verdict):
    take = HeardTake(built_route("2d:1 4b:1 5d:1", key="A", bpm=60)).sounding(1, midi=76.0)
    levels = {0: own_level(0.4, 1.6), 2: own_level(2.3, 3.6)}
    theirs = {1: own_level(1.3, 2.7, dips=[(1.3, 2.7, softer_db)])}
    answers = [
        take.answer(company=company, company_db=-9.0, levels=levels, instead=theirs) for company in (True, False)
    ]
    assert [one.plays[0].events[1].verdict for one in answers] == [verdict, Verdict.ANOTHER]


def test_what_others_play_at_its_pitch_after_a_note_is_no_second_strike():
    take = HeardTake(built_route("2d:1 4b:1 r:2 5d:1", key="A", bpm=60))
    take.placing(1, take.due[1], take.due[2]).strikes = [3.0]
    faded = own_level(1.4, 4.6, dips=[(2.5, 2.99, 30.0), (2.99, 4.6, 4.0)])
    assert take.answer(company=True, levels={1: faded}).plays[0].extras == ()
    again = own_level(1.4, 4.6, dips=[(2.96, 2.99, 30.0)])
    (extra,) = take.answer(company=True, levels={1: again}).plays[0].extras
    assert (extra.after, extra.again) == (1, True)


def test_a_drum_that_fills_what_lies_between_the_partials_is_no_second_strike():
    take = HeardTake(built_route("2d:1 4b:1 r:2 5d:1", key="A", bpm=60))
    take.placing(1, take.due[1], take.due[2]).strikes = [3.0]
    struck, held = own_level(1.4, 4.6, dips=[(2.96, 2.99, 30.0)]), own_level(1.4, 4.6)
    for whole, extras in ((struck, 1), (held, 0)):
        level = OwnLevel(struck.start_seconds, struck.level_db, whole.level_db)
        assert len(take.answer(company=True, levels={1: level}).plays[0].extras) == extras


def test_a_drum_in_a_note_that_swings_is_no_second_strike():
    take = HeardTake(built_route("2d:1 4b:1 r:2 5d:1", key="A", bpm=60))
    take.placing(1, take.due[1], take.due[2]).strikes = [3.0]
    even = own_level(1.4, 4.6)
    at = even.start_seconds + HOP_SECONDS * np.arange(len(even.level_db))
    swinging = even.level_db + np.where(at < 2.9, 2.5, -2.5) * np.cos(2 * np.pi * 4.5 * (at - 3.0)).astype(np.float32)
    struck = np.where((at > 2.97) & (at < 2.99), -100.0, swinging)
    for whole, extras in ((swinging, 0), (struck, 1)):
        level = OwnLevel(1.4, struck.astype(np.float32), whole.astype(np.float32))
        assert len(take.answer(company=True, levels={1: level}).plays[0].extras) == extras


def test_a_short_note_is_played_if_a_third_of_it_is_heard():
    take = HeardTake(built_route("2d:1 3d':1/5 4b:1", key="A", bpm=120))
    due = take.due[1]
    take.sounding(0, end=due - 0.03).sounding(1, start=due + 0.06, end=due + 0.1).placing(1, due, due + 0.08)
    assert take.answer().plays[0].events[1].verdict is Verdict.PLAYED
    take.sounding("next", start=due + 0.08, end=due + 0.1, midi=69.0).sounding(1, end=due + 0.08)
    assert take.answer().plays[0].events[1].verdict is Verdict.MISSED


def test_a_sound_that_no_hole_makes_is_not_a_note_too_many():
    take = HeardTake(built_route("2d 3d' 4b r:1 4d 5d", key="A"))
    take.sounding("bass", start=take.end[2] + 0.1, end=take.end[2] + 0.4, midi=40.0)
    assert take.answer().plays[0].extras == ()


@pytest.mark.slow
@pytest.mark.skipif(not FLUID_BANK.exists(), reason="needs Debian's fluid-soundfont-gm")
@pytest.mark.parametrize(
    ("played", "event", "kind"),
    [
        (PHRASE.replace("5d:1", "5b:1"), 4, FaultKind.ANOTHER),
        (PHRASE.replace("5d:1", "r:1"), 4, FaultKind.MISSED),
        (PHRASE.replace("3d':1 2d:1 1d", "r:1/4 3d':3/4 2d:1 1d"), 7, FaultKind.LATE),
        (PHRASE.replace("2d:1 1d", "2d 2d 1d"), 8, FaultKind.EXTRA),
        (PHRASE.replace("3d':1 4b:1 4d:1 5d", "3d:1 4b:1 4d:1 5d"), 1, FaultKind.ANOTHER),
    ],
)
def test_real_faults_are_told_over_the_band(played, event, kind):
    asked = built_lesson(built_route(PHRASE, key="A", bpm=90), factors=(1.0,))
    lesson = built_lesson(built_route(played, key="A", bpm=90), factors=(1.0,))
    answer = answer_take(play_with_band(lesson, lesson.ladder[0]), asked.route)
    assert len(answer.plays) == 2
    for play in answer.plays:
        told = {one.event: {fault.kind for fault in one.faults} for one in play.events if one.faults}
        assert set(told) == {event}
        assert kind in told[event]

"""What went well, what comes next, what many tries have in common, and how it is said in every language."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.data import replace
from reedpath.harp import Alteration, Breath, Move
from reedpath.listen import (
    BeatDivision,
    Extra,
    FaultKind,
    HarpHeard,
    NextStepKind,
    Pause,
    PraiseKind,
    SwingHeard,
    Trend,
    format_answer,
    harp_heard_words,
    next_step_words,
    praise_of,
    praise_words,
)
from reedpath.listen.advice import OF_SWING, OF_THE_WHOLE, practise_of, things_of_the_whole
from reedpath.listen.next_step import next_step_of
from reedpath.listen.reeds import ReedHeard, ReedState
from reedpath.listen.tries import tries_of
from reedpath.wording import load_catalogue
from support.built_routes import built_route
from support.listened import built_answer

LANGUAGES = ("en", "fr", "de", "es", "it")
ROUTE = built_route("2d 3d' 4b 4d:1 5d 6b 5d 4d 3d' 2d 3d' 4d 4d:2", key="A", bpm=96)
EVENTS = len(ROUTE.events)
STRAIGHT = Move((3,), Breath.DRAW)


def answered(changes=None, *, route=ROUTE, swing=None, **play_changes):
    """An answer with all that is said of its playing, as `answer_of` puts it together."""
    answer = built_answer(route, changes)
    play = replace(answer.plays[0], swing=swing, **play_changes)
    whole = things_of_the_whole(play.events, play.tempo, play.air, swing)
    play = replace(play, practise=practise_of(play.events, whole=whole))
    return replace(answer, plays=(play,), praise=praise_of(play), next_step=next_step_of(play, route))


def drifting(share):
    tempo = built_answer(ROUTE).plays[0].tempo
    return replace(tempo, drift=share, kept=False)


def swung(kind, *, asked=2.0, heard=1.0):
    return SwingHeard(asked, heard, 8, kind, (1, 3, 5, 7) if kind else ())


def many(*shares, kind=FaultKind.MISSED, route=ROUTE):
    """Play-throughs with so many notes wrong, from the first on."""
    wrong = [{index: (kind, 40.0) for index in range(count)} for count in shares]
    return [built_answer(route, one).plays[0] for one in wrong]


# ------------------------------------------------------------------------------------------------------ what is right


def test_all_right_is_praised_and_asked_for_once_more_another_day():
    answer = answered()
    assert (answer.praise.kind, answer.praise.count) == (PraiseKind.ALL, EVENTS)
    assert answer.next_step.kind is NextStepKind.TOMORROW
    text = format_answer(answer, load_catalogue("en"))
    assert text.endswith("Next: play it once more tomorrow; what is right then will stay.\n")


def test_short_of_perfect_the_swing_the_bends_or_the_longest_run_is_praised():
    slip = {4: (FaultKind.MISSED, 0.0)}
    assert answered(slip, swing=swung(None, heard=2.0)).praise.kind is PraiseKind.SWING
    assert answered(slip, swing=swung(None, asked=1.0)).praise.kind is PraiseKind.BENDS
    written_out = replace(swung(None, heard=2.0), division=BeatDivision.LONG_SHORT)
    assert answered(slip, swing=written_out).praise.kind is PraiseKind.BENDS
    flat = {1: (FaultKind.FLAT, 40.0), 8: (FaultKind.FLAT, 40.0), 10: (FaultKind.FLAT, 40.0)}
    assert answered(flat, swing=written_out).praise.kind is PraiseKind.LONG_SHORT
    row = answered(flat).praise
    assert (row.kind, row.count, row.events) == (PraiseKind.ROW, 6, tuple(range(2, 8)))


def test_a_slip_that_does_not_stop_the_playing_is_praised_and_one_that_does_is_not():
    wrong = {index: (FaultKind.ANOTHER, 100.0, STRAIGHT) for index in (0, 2, 4, 8, 11)} | {6: (FaultKind.FLAT, 40.0)}
    wrong |= {1: (FaultKind.FLAT, 40.0)}
    going = answered(wrong)
    assert (going.praise.kind, going.praise.events) == (PraiseKind.WENT_ON, (0, 2, 4, 8, 11))
    stopped = replace(going.plays[0].play, pauses=(Pause(5, 0.8),))
    assert answered(wrong, play=stopped).praise.kind is PraiseKind.TEMPO


def test_nothing_is_praised_that_was_not_measured():
    everything = {index: (FaultKind.MISSED, 0.0) for index in range(EVENTS)}
    assert answered(everything, tempo=drifting(0.4)).praise is None


@given(st.sets(st.integers(0, EVENTS - 1)))
def test_what_is_praised_is_never_a_note_that_is_wrong(wrong):
    answer = answered({index: (FaultKind.SHORT, 0.3) for index in wrong})
    praise = answer.praise
    if praise is not None and praise.kind in (PraiseKind.ROW, PraiseKind.ALL):
        assert not wrong & set(praise.events)
        assert praise.kind is not PraiseKind.ALL or not wrong


# --------------------------------------------------------------------------------------------- the playing as a whole


@pytest.mark.parametrize(("drift", "kind"), [(0.42, FaultKind.RUSHES), (-0.2, FaultKind.DRAGS)])
def test_a_tempo_that_is_not_kept_is_a_point_of_its_own_with_the_click_as_the_next_step(drift, kind):
    answer = answered(tempo=drifting(drift))
    (point,) = answer.plays[0].practise
    assert (point.kind, round(point.amount)) == (kind, round(100 * abs(drift)))
    assert (answer.next_step.kind, answer.next_step.bpm) == (NextStepKind.CLICK, pytest.approx(96 * 0.85))
    text = format_answer(answer, load_catalogue("en"))
    assert text.count(f"{round(100 * abs(drift))}%") == 1
    assert "practise it with the click" in text
    assert "Well done" not in text


def test_air_is_a_point_of_its_own_and_told_once():
    play = built_answer(ROUTE).plays[0]
    air, tempo = replace(play.air, highest_litres=1.2, fullest_at=3), replace(play.tempo, factor=0.8)
    answer = answered(air=air, tempo=tempo)
    assert [thing.kind for thing in answer.plays[0].practise] == [FaultKind.AIR_FULL]
    assert format_answer(answer, load_catalogue("en")).count("drawn much more") == 1


def test_swing_is_said_first_however_much_else_there_is():
    wrong = {index: (FaultKind.MISSED, 0.0) for index in (0, 2)} | {9: (FaultKind.LATE, 150.0)}
    answer = answered(wrong, swing=swung(FaultKind.NOT_SWUNG), tempo=drifting(0.5))
    assert answer.plays[0].practise[0].kind is FaultKind.NOT_SWUNG
    lines = format_answer(answer, load_catalogue("en")).splitlines()
    told = [line for line in lines if line.startswith("- ") and "from" not in line]
    assert told[0].startswith("- You play the eighths evenly, and this one swings (bars 1 to 2)")


def test_two_points_are_told_and_all_of_them_where_they_are_asked_for():
    wrong = {
        0: (FaultKind.MISSED, 0.0),
        2: (FaultKind.LATE, 100.0),
        5: (FaultKind.SHORT, 0.3),
        7: (FaultKind.EXTRA, 0.2),
    }
    answer, words = answered(wrong), load_catalogue("en")
    short, whole = format_answer(answer, words), format_answer(answer, words, everything=True)
    first = short.split("Most worth practising")[1].split("Next:")[0]
    assert first.count("\n- ") == 2
    assert "Also" not in short
    assert "let go too soon" in whole
    assert "one note too many" in whole


# ---------------------------------------------------------------------------------------------------------- next step


@pytest.mark.parametrize(
    ("wrong", "factor", "swing", "kind", "bpm"),
    [
        (3, 1.0, None, NextStepKind.APART, 96 * 0.7),
        (3, 1.0, FaultKind.NOT_SWUNG, NextStepKind.APART, 96 * 0.7),
        (1, 1.0, FaultKind.NOT_SWUNG, NextStepKind.SWING, 96 * 0.85),
        (0, 0.6, None, NextStepKind.FASTER, 96 * 0.7),
        (0, 0.9, None, NextStepKind.FASTER, 96 * 1.0),
        (1, 0.6, None, NextStepKind.AGAIN, 96 * 0.6),  # what is wrong is not practised faster
        (1, 1.0, None, NextStepKind.AGAIN, 96 * 1.0),
    ],
)
def test_the_next_step_is_slower_under_four_notes_in_five_and_faster_only_from_what_is_right(
    wrong, factor, swing, kind, bpm
):
    tempo = replace(built_answer(ROUTE).plays[0].tempo, factor=factor)
    changes = {index: (FaultKind.MISSED, 0.0) for index in range(4, 4 + wrong)}
    step = answered(changes, tempo=tempo, swing=swung(swing) if swing else None).next_step
    assert (step.kind, step.bpm) == (kind, pytest.approx(bpm))


def in_part(first, last, *, cut_off=False, changes=None):
    """An answer to a play-through of some of the events only."""
    answer = answered(changes)
    play = answer.plays[0]
    part = replace(play.play, whole=False, events=play.play.events[first : last + 1], cut_off=cut_off)
    play = replace(play, play=part, events=play.events[first : last + 1])
    return replace(answer, plays=(play,), next_step=next_step_of(play, ROUTE))


def test_who_plays_a_part_well_plays_the_rest_next():
    answer = in_part(0, 5)
    step = answer.next_step
    assert (step.kind, step.bpm, step.first, step.last) == (NextStepKind.REST, 96.0, 6, EVENTS - 1)
    text = format_answer(answer, load_catalogue("en"))
    assert "This one goes from 2 draw (bar 1) to 6 blow (bar 1); the rest is not played." in text
    assert "Next: the rest as well, bars 1 to 2, at 96 beats a minute; then all of it in one go." in text
    assert in_part(7, EVENTS - 1).next_step.first == 0
    # a note left out at the end is no part; a recording that ends does not say what was played after it
    assert in_part(0, EVENTS - 2).next_step.kind is NextStepKind.TOMORROW
    assert in_part(0, 5, cut_off=True).next_step.kind is NextStepKind.TOMORROW
    wrong = {index: (FaultKind.MISSED, 0.0) for index in (1, 3)}
    assert in_part(0, 5, changes=wrong).next_step.kind is not NextStepKind.REST


def test_tries_that_stop_on_the_way_are_told_from_whole_ones():
    part, whole = in_part(0, 5), answered()
    words = load_catalogue("en")
    both = replace(whole, plays=(*part.plays, *whole.plays), best=1)
    assert "I hear it twice, once only in part. This is about number 2" in format_answer(both, words)
    assert "I hear it twice. This" in format_answer(replace(whole, plays=whole.plays * 2, best=1), words)
    assert "I hear it twice. This" in format_answer(replace(part, plays=part.plays * 2, best=1), words)


def test_all_notes_right_are_told_so_though_the_playing_as_a_whole_is_not_as_asked():
    text = format_answer(answered(tempo=drifting(0.4)), load_catalogue("en"))
    assert f"All {EVENTS} notes are right." in text


@pytest.mark.parametrize(("cents", "said"), [(15.0, "15 cents higher than"), (-15.0, "15 cents lower than")])
def test_a_harp_tuned_otherwise_is_told_with_its_direction(cents, said):
    assert said in format_answer(replace(answered(), tuned_cents=cents), load_catalogue("en"))


@pytest.mark.parametrize(
    ("event", "heard", "remedy"),
    [
        (1, Move((3,), Breath.DRAW), "start it bent"),
        (1, Move((3,), Breath.DRAW, Alteration.BEND, -2), "not bent so far"),
        (0, Move((2,), Breath.DRAW, Alteration.BEND, -1), "not bent so far"),
        (0, Move((2,), Breath.BLOW), "the breath is not"),
        (0, Move((3,), Breath.DRAW), "Look for the hole"),
        (5, Move((6,), Breath.BLOW, Alteration.OVERBLOW, 3), "Look for the hole"),
    ],
)
def test_what_helps_against_another_note_asks_for_no_hole_that_was_found(event, heard, remedy):
    text = format_answer(answered({event: (FaultKind.ANOTHER, 100.0, heard)}), load_catalogue("en"))
    assert remedy in text
    assert ("Look for the hole" in text) == (remedy == "Look for the hole")


SIX = Move((6,), Breath.DRAW)


def with_extras(*extras):
    """An answer to a play-through with notes too many: each is the event after which it comes, and its move."""
    answer = answered({after: (FaultKind.EXTRA, 0.1) for after, _ in extras})
    play = answer.plays[0]
    heard = tuple(
        Extra(1.0, 1.1, after, again=move == play.events[after].move, move=move, cents=0.0) for after, move in extras
    )
    return replace(answer, plays=(replace(play, extras=heard),))


@pytest.mark.parametrize(
    ("extras", "said", "remedy"),
    [
        (
            [(3, SIX)],
            "After 4 draw, 6 draw sounds too, and it is not in the phrase (bar 1).",
            "move to the next hole",
        ),
        (
            [(3, SIX), (5, SIX)],
            "Two notes sound that are not in the phrase: 6 draw, after 4 draw and 6 blow (bar",
            "move to",
        ),
        (
            [(3, ROUTE.events[3].choice.move)],
            "There is one note too many after 4 draw (bar 1).",
            "without striking it again",
        ),
    ],
)
def test_a_note_too_many_is_told_by_what_sounds(extras, said, remedy):
    text = format_answer(with_extras(*extras), load_catalogue("en"))
    assert said in text
    assert remedy in text


@pytest.mark.parametrize("language", LANGUAGES)
def test_another_note_too_many_has_its_words(language):
    for extras in ([(3, SIX)], [(3, SIX), (5, SIX)]):
        assert "{" not in format_answer(with_extras(*extras), load_catalogue(language))


def test_a_hole_that_nobody_can_hear_is_told_and_is_no_praise():
    route = built_route("(1 4)b (1 4)b (1 4)b (2 5)b:1 4d 4b 4d 4b 4d:1", key="A", bpm=96)
    unsure = (ReedHeard(1, True, ReedState.SOUNDS), ReedHeard(4, True, ReedState.UNSURE))
    answer = built_answer(route, {6: (FaultKind.LATE, 90.0)})
    play = answer.plays[0]
    events = tuple(replace(one, reeds=unsure) if one.event < 4 else one for one in play.events)
    play = replace(play, events=events)
    assert praise_of(play).kind is PraiseKind.TEMPO  # of the first six nobody can say that they are as asked
    text = format_answer(replace(answer, plays=(play,)), load_catalogue("en"))
    assert "Of four notes I cannot tell whether all their holes sound: " in text


def test_the_lessons_harp_comes_before_all_else():
    play = answered({index: (FaultKind.MISSED, 0.0) for index in range(5)}).plays[0]
    assert next_step_of(play, ROUTE, HarpHeard("C", 3, 0, 0, 0.9, 0.1)).kind is NextStepKind.HARP


# --------------------------------------------------------------------------------------------------------- many tries


@pytest.mark.parametrize(
    ("wrong", "trend"),
    [
        ((6, 5, 4, 3, 2, 1), Trend.BETTER),
        ((1, 2, 3, 4, 5, 6), Trend.WORSE),
        ((3, 4, 3, 4, 3, 4), Trend.SAME),
        ((4, 1, 5, 2, 4, 1), Trend.SAME),
        ((3, 2, 1), Trend.SAME),  # three tries may fall in their order by chance
        ((3, 3, 3, 3), Trend.SAME),
        ((9, 8, 9, 7, 6, 7, 5, 6, 4, 4, 3, 11, 3, 2, 2, 1, 2, 1, 0, 1, 1, 0, 0, 0), Trend.BETTER),
    ],
)
def test_a_trend_is_told_where_the_order_of_the_tries_says_so(wrong, trend):
    tries = tries_of(many(*wrong), EVENTS)
    assert (tries.count, tries.trend) == (len(wrong), trend)
    if trend is not Trend.SAME:
        assert (tries.last_share > tries.first_share) == (trend is Trend.BETTER)


@pytest.mark.parametrize(
    ("factors", "wrong", "told"),
    [
        (
            (0.6, 0.65, 0.7, 0.7, 0.8),
            (3, 3, 2, 3, 3),
            "faster from try to try: from about 58 beats a minute to about 77.",
        ),
        ((0.9, 0.8, 0.85, 0.7, 0.6), (3, 3, 2, 3, 3), "slower from try to try: from about"),
        ((0.7, 0.8, 0.9, 1.0, 1.1), (1, 2, 3, 4, 5), "also take it faster from try to try: from about 67"),
        ((0.6, 0.8, 0.6, 0.8, 0.7), (3, 3, 2, 3, 3), None),
        ((0.70, 0.71, 0.72, 0.73, 0.735), (3, 3, 2, 3, 3), None),  # nobody notices so little
        # three tries may rise in their order by chance, but not by so much each time
        ((0.7, 0.8, 0.9), (3, 3, 3), "faster from try to try: from about 67 beats a minute to about 86."),
        ((0.9, 0.8, 0.7), (3, 3, 3), "slower from try to try: from about 86 beats a minute to about 67."),
        ((0.7, 0.73, 0.9), (3, 3, 3), None),
        ((0.7, 0.9, 0.8), (3, 3, 3), None),
    ],
)
def test_a_tempo_that_rises_or_falls_from_try_to_try_is_told(factors, wrong, told):
    plays = [
        replace(one, tempo=replace(one.tempo, factor=factor, bpm=96 * factor))
        for one, factor in zip(many(*wrong), factors, strict=True)
    ]
    tries = tries_of(plays, EVENTS)
    answer = replace(built_answer(ROUTE), plays=tuple(plays), best=0, tries=tries)
    text = format_answer(answer, load_catalogue("en"))
    assert (tries.first_bpm is None) == (tries.last_bpm is None) == (told is None)
    assert "from try to try" not in text if told is None else told in text


def test_few_tries_and_tries_of_a_few_notes_say_nothing():
    assert tries_of(many(1, 2), EVENTS) is None
    plays = [replace(one, events=one.events[:4]) for one in many(1, 2, 3, 4)]
    assert tries_of(plays, EVENTS) is None


def test_what_comes_back_in_most_tries_is_told_as_it_was_the_last_time():
    late = [built_answer(ROUTE, {3: (FaultKind.LATE, 90.0)}).plays[0] for _ in range(4)]
    plays = [*late, *many(0, 0, 1)]
    tries = tries_of(plays, EVENTS)
    assert (tries.recurring.kind, tries.recurring_in, tries.seen_in) == (FaultKind.LATE, 4, 3)
    assert tries_of([*late[:2], *many(0, 0, 0)], EVENTS).recurring is None
    answer = replace(built_answer(ROUTE), plays=tuple(plays), best=4, tries=tries)
    text = format_answer(answer, load_catalogue("en"))
    assert "In 4 of the 7 tries this comes back. A note comes 90 ms late: 4 draw (bar 1)." in text
    text = format_answer(replace(answer, best=0), load_catalogue("en"))
    assert "- A note comes 90 ms late: 4 draw (bar 1).\n  Get ready earlier" in text
    assert "\n  So it is in 4 of the 7 tries.\n" in text
    assert "this comes back" not in text


def test_what_comes_back_comes_back_at_the_same_note_or_is_how_a_move_is_made():
    """The same hole missed at another note in each try is not one thing that comes back."""
    missed = [built_answer(ROUTE, {event: (FaultKind.MISSED, 0.0)}).plays[0] for event in range(6)]
    assert tries_of(missed, EVENTS).recurring is None
    bend = [one.event for one in built_answer(ROUTE).plays[0].events if one.move == ROUTE.events[1].choice.move]
    assert len(bend) == 3
    for kind, heard, recurs in ((FaultKind.FLAT, (), True), (FaultKind.ANOTHER, (STRAIGHT,), False)):
        plays = [built_answer(ROUTE, {event: (kind, 40.0, *heard)}).plays[0] for event in bend * 2]
        tries = tries_of(plays, EVENTS)
        assert (tries.recurring is not None) == recurs
        assert tries.recurring_at is None
    same = [built_answer(ROUTE, {bend[1]: (FaultKind.ANOTHER, 40.0, STRAIGHT)}).plays[0] for _ in range(4)]
    tries = tries_of([*same, *many(0)], EVENTS)
    assert (tries.recurring_in, tries.recurring_at, tries.recurring.events) == (4, bend[1], (bend[1],))


def test_getting_better_from_try_to_try_is_the_praise():
    plays = many(6, 5, 4, 3, 2)
    tries = tries_of(plays, EVENTS)
    assert praise_of(plays[-1], tries).kind is PraiseKind.BETTER


@given(st.lists(st.integers(0, EVENTS), min_size=3, max_size=12))
def test_the_trend_of_tries_turned_round_is_turned_round(wrong):
    turned = {Trend.BETTER: Trend.WORSE, Trend.WORSE: Trend.BETTER, Trend.SAME: Trend.SAME}
    there, back = tries_of(many(*wrong), EVENTS), tries_of(many(*wrong[::-1]), EVENTS)
    assert back.trend is turned[there.trend]
    assert 0.0 <= min(there.first_share, there.last_share) <= max(there.first_share, there.last_share) <= 1.0


# ------------------------------------------------------------------------------------------------------ said in words


@pytest.mark.parametrize("language", LANGUAGES)
def test_all_that_may_be_said_has_its_words(language):
    words = load_catalogue(language)
    said = []
    for kind in PraiseKind:
        said += [praise_words(replace(answered().praise, kind=kind, count=count, events=(0, 3)), ROUTE, words)
                 for count in (1, 2, 7)]  # fmt: skip
    answer = answered({4: (FaultKind.MISSED, 0.0)})
    heard = HarpHeard("C", 3, 0, 0, 0.9, 0.1)
    for kind in NextStepKind:
        has_bpm = kind not in (NextStepKind.HARP, NextStepKind.TOMORROW)
        place = (2, 5) if kind in (NextStepKind.APART, NextStepKind.REST) else (None, None)
        step = replace(answer.next_step, kind=kind, bpm=80.0 if has_bpm else None, first=place[0], last=place[1])
        said.append(next_step_words(step, heard, ROUTE, words))
    for semitones, octaves, holes in [
        (3, 0, 0),
        (12, 1, 0),
        (-24, -2, 0),
        (14, 1, 0),
        (-14, -1, 0),
        (0, 0, 1),
        (0, 0, -2),
    ]:
        said.append(harp_heard_words(HarpHeard("C", semitones, octaves, holes, 0.9, 0.1), ROUTE, words))
    for kind in OF_THE_WHOLE:
        swing = swung(kind) if kind in OF_SWING else None
        thing = replace(answer.plays[0].practise[0], kind=kind, events=(1, 9), amount=1.2)
        play = replace(answer.plays[0], swing=swing, practise=(thing,))
        said.append(format_answer(replace(answer, plays=(play,)), words))
    for wrong in ((6, 5, 4, 3, 2, 1), (1, 2, 3, 4, 5, 6), (3, 3, 3)):
        plays = tuple(many(*wrong))
        tries = tries_of(plays, EVENTS)
        said.append(format_answer(replace(answer, plays=plays, best=0, tries=tries), words))
        for tempos in ((60.0, 80.0), (80.0, 60.0)):
            changing = replace(tries, first_bpm=tempos[0], last_bpm=tempos[1])
            said.append(format_answer(replace(answer, plays=plays, best=0, tries=changing), words))
            assert "60" in said[-1]
            assert "80" in said[-1]
    assert not [text for text in said if "{" in text or "}" in text]
    assert all(text[0] == text[0].upper() for text in said)


def test_another_harp_is_named_in_words():
    words = load_catalogue("en")
    route = built_route("4d 5d", key="C", swing=Fraction(1))
    told = {
        heard: harp_heard_words(heard, route, words)
        for heard in (HarpHeard("A", -3, 0, 0, 0.9, 0.1), HarpHeard("C", 12, 1, 0, 0.9, 0.0))
    }
    assert list(told.values()) == [
        "You play the A harp; the lesson is for the C harp. "
        "I have listened by the holes, as if it were the right one.",
        "You play it an octave higher than the lesson. I have listened as if it were in its place.",
    ]

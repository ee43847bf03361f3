"""What sounds: repeats, grace notes, parts, tempo and metre after a jump, swing and seconds."""

import itertools
from fractions import Fraction as F

import pytest
from hypothesis import given

from reedpath.errors import PhraseError
from reedpath.phrase import Event, Metre, Ornaments, Part, Phrase, Repeat, Tempo, bars, performed, timing_of
from support.examples import examples
from support.phrases import phrase_of
from support.spent_bytes import SpentBytes, built_from_bytes


def heard(phrase: Phrase) -> list[tuple[F, int]]:
    return [(event.onset, event.midi[-1]) for event in performed(phrase).events]


def test_a_repeat_is_played_again():
    phrase = phrase_of("c4 d4 e4", repeats=(Repeat(F(0), F(2)),))
    assert heard(phrase) == [(0, 60), (1, 62), (2, 60), (3, 62), (4, 64)]


def test_a_repeat_inside_a_repeat():
    phrase = phrase_of(
        "c4 d4 e4",
        repeats=(
            Repeat(F(1), F(2)),
            Repeat(F(0), F(2)),
        ),
    )
    assert [midi for _, midi in heard(phrase)] == [60, 62, 62, 60, 62, 62, 64]


def test_two_repeats_of_one_stretch_inside_another_of_the_same_start():
    phrase = phrase_of("c4 d4 e4", repeats=(Repeat(F(0), F(3)), Repeat(F(0), F(1), times=3)))
    assert [midi for _, midi in heard(phrase)] == [60, 60, 60, 62, 64] * 2


def test_crossing_repeats_are_an_error():
    with pytest.raises(PhraseError, match="crosses another that ends at beat 2"):
        performed(phrase_of("c4 d4 e4", repeats=(Repeat(F(0), F(2)), Repeat(F(1), F(3)))))


@pytest.mark.parametrize("repeat", [Repeat(F(2), F(2)), Repeat(F(0), F(1), times=0)])
def test_a_repeat_of_nothing_is_an_error(repeat):
    with pytest.raises(PhraseError, match="ends after it begins"):
        performed(phrase_of("c4 d4 e4", repeats=(repeat,)))


def test_repeats_without_end_are_bounded():
    with pytest.raises(PhraseError, match="unfold to more than 10,000"):
        performed(phrase_of("c4 d4", repeats=(Repeat(F(0), F(1), times=10**9),)))
    nested = tuple(Repeat(F(0), F(k)) for k in range(1, 60))
    with pytest.raises(PhraseError, match="16 deep"):
        performed(Phrase(phrase_of("c4 d4").events, repeats=nested))


def test_a_note_held_over_the_jump_stops_there():
    phrase = phrase_of("c4 1/4 d4 1/2 e4 1/4", repeats=(Repeat(F(0), F(2)),))
    assert [(e.onset, e.duration) for e in performed(phrase).events] == [
        (0, 1), (1, 1), (2, 1), (3, 2), (5, 1)
    ]  # fmt: skip


def test_jumping_back_restores_tempo():
    phrase = phrase_of("c4 d4 e4 f4", tempos=(Tempo(F(0), 60.0), Tempo(F(1), 120.0)), repeats=(Repeat(F(0), F(2)),))
    assert performed(phrase).tempos == (
        Tempo(F(0), 60.0), Tempo(F(1), 120.0), Tempo(F(2), 60.0), Tempo(F(3), 120.0)
    )  # fmt: skip


def test_tempo_in_force_at_a_repeat_that_starts_later():
    phrase = phrase_of("c4 d4 e4 f4", tempos=(Tempo(F(0), 60.0), Tempo(F(2), 90.0)), repeats=(Repeat(F(1), F(3)),))
    assert performed(phrase).tempos == (
        Tempo(F(0), 60.0), Tempo(F(2), 90.0), Tempo(F(3), 60.0), Tempo(F(4), 90.0)
    )  # fmt: skip


def test_jumping_back_restores_metre():
    metres = (Metre(F(0), 4, 4), Metre(F(4), 3, 4))
    phrase = phrase_of("c4 1 d4 3/4 e4 3/4", metres=metres, repeats=(Repeat(F(0), F(7)),))
    played = performed(phrase)
    assert [(bar.onset, bar.metre.count) for bar in bars(played)] == [(0, 4), (4, 3), (7, 4), (11, 3), (14, 3)]


def test_a_pickup_played_again_fills_the_last_bar():
    phrase = phrase_of("c4 1/4 d4 1 e4 3/4", metres=(Metre(F(0), 4, 4),), pickup=F(1), repeats=(Repeat(F(0), F(8)),))
    played = performed(phrase)
    assert played.metres == (Metre(F(0), 4, 4),)
    assert [bar.onset for bar in bars(played)] == [0, 1, 5, 9, 13]


def test_a_short_bar_before_the_jump_is_said():
    phrase = phrase_of("c4 1 d4 1/2", metres=(Metre(F(0), 4, 4),), repeats=(Repeat(F(0), F(6)),))
    assert [bar.onset for bar in bars(performed(phrase))] == [0, 4, 6, 10]


def test_grace_notes_take_their_time_from_the_main_note():
    (first, second, main) = performed(phrase_of("<c4><d4>e4 1/4", tempos=(Tempo(F(0), 60.0),))).events
    assert (first.midi, second.midi, main.midi) == ((60,), (62,), (64,))
    assert first.grace
    assert second.grace
    assert not main.grace
    assert main.ornaments == Ornaments()
    assert first.duration == second.duration == F(5, 64)
    assert main.end == 1
    assert main.onset == second.end


def test_grace_notes_leave_half_of_a_short_note():
    *graces, main = performed(phrase_of("<c4><d4>e4 1/64", tempos=(Tempo(F(0), 300.0),))).events
    assert main.duration == F(1, 32)
    assert sum(grace.duration for grace in graces) == F(1, 32)


def test_a_repeated_part_appears_each_time():
    phrase = phrase_of("c4 d4 e4", parts=(Part("call", F(0), F(2)), Part("answer", F(2), F(3))),
                       repeats=(Repeat(F(0), F(2)),))  # fmt: skip
    assert performed(phrase).parts == (
        Part("call", F(0), F(2)), Part("call", F(2), F(4)), Part("answer", F(4), F(5))
    )  # fmt: skip


def test_a_part_around_a_repeat_grows_with_it():
    for repeat in (Repeat(F(0), F(1)), Repeat(F(1), F(2)), Repeat(F(2), F(3))):
        phrase = phrase_of("c4 d4 e4", parts=(Part("all", F(0), F(3)),), repeats=(repeat,))
        assert performed(phrase).parts == (Part("all", F(0), F(4)),)


def test_a_part_that_begins_inside_a_repeat():
    phrase = phrase_of("c4 d4 e4", parts=(Part("end", F(1), F(3)),), repeats=(Repeat(F(0), F(2)),))
    assert performed(phrase).parts == (Part("end", F(1), F(2)), Part("end", F(3), F(5)))


def test_seconds_of_a_swung_bar():
    timing = timing_of(phrase_of("c4", tempos=(Tempo(F(0), 120.0),), swing=F(2)))
    assert timing.seconds_at(F(1, 2)) == pytest.approx(1 / 3)
    assert timing.seconds_at(F(1, 4)) == pytest.approx(1 / 6)
    assert timing.seconds_at(F(3, 4)) == pytest.approx(5 / 12)


def test_a_pickup_of_half_a_beat_is_the_short_half():
    timing = timing_of(phrase_of("c4 1/8 d4 1/8 e4 1/8", tempos=(Tempo(F(0), 60.0),), swing=F(2), pickup=F(1, 2)))
    assert timing.seconds_at(F(1, 2)) == pytest.approx(1 / 3)
    assert timing.seconds_at(F(1)) - timing.seconds_at(F(1, 2)) == pytest.approx(2 / 3)


def test_a_triplet_in_a_swung_phrase_stays_even():
    phrase = phrase_of("c4 1/12 d4 e4 f4 1/8 g4", tempos=(Tempo(F(0), 60.0),), swing=F(2))
    timing = timing_of(phrase)
    assert [timing.seconds_at(e.onset) for e in phrase.events] == pytest.approx([0, 1 / 3, 2 / 3, 1, 5 / 3])


def test_a_grace_note_is_no_triplet():
    phrase = performed(phrase_of("<d4><e4><c4>d4 1/8 f4 1/8", tempos=(Tempo(F(0), 60.0),), swing=F(2)))
    assert timing_of(phrase).straight_beats == frozenset()


@pytest.mark.parametrize(
    ("fields", "message"),
    [({"swing": F(0)}, "a swing of 0"), ({"tempos": (Tempo(F(0), 0.0),)}, "a tempo of 0 ")],
)
def test_impossible_timing(fields, message):
    with pytest.raises(PhraseError, match=message):
        timing_of(phrase_of("c4", **fields))


def test_a_tempo_that_starts_late_holds_from_the_start():
    assert timing_of(phrase_of("c4", tempos=(Tempo(F(4), 60.0),))).seconds_at(F(1)) == pytest.approx(1.0)


LENGTHS = [F(1), F(1, 2), F(1, 3), F(1, 4), F(3, 2)]
SWINGS, PICKUPS = [F(1), F(3, 2), F(2), F(3)], [F(0), F(1, 2), F(1), F(1, 3)]


def beat_of(drawn: SpentBytes) -> F:
    """0 to 16, on any division up to a twelfth."""
    parts = drawn.whole(1, 12)
    return F(drawn.whole(0, 16 * parts), parts)


def any_phrase(drawn: SpentBytes) -> Phrase:
    """Up to twelve notes, some with a grace note, and maybe a repeat, under up to four tempos."""
    swing, pickup, repeat = drawn.pick(SWINGS), drawn.pick(PICKUPS), drawn.whole(0, 4)
    tempos = [Tempo(beat_of(drawn), drawn.real(20, 300)) for _ in range(drawn.whole(0, 4))]
    at, events = F(0), []
    for index, length in enumerate(drawn.picks(LENGTHS, least=1, most=12)):
        events.append(Event(at, length, (60 + index % 12,), Ornaments(graces=(59,) if index % 5 == 4 else ())))
        at += length
    return Phrase(
        tuple(events),
        tempos=tuple(sorted(tempos, key=lambda tempo: tempo.onset)),
        swing=swing,
        pickup=pickup,
        repeats=(Repeat(F(1), F(1) + repeat),) if repeat else (),
    )


def phrase_and_moments(drawn: SpentBytes) -> tuple[Phrase, list[F]]:
    """A phrase, and two to twenty beats in order."""
    moments = {beat_of(drawn) for _ in range(drawn.whole(2, 20))} | {F(0), F(16)}
    return any_phrase(drawn), sorted(moments)


phrases = built_from_bytes(any_phrase, size=48)


@examples(60)
@given(built_from_bytes(phrase_and_moments, size=90))
def test_time_never_stands_still_and_comes_back(drawn):
    phrase, moments = drawn
    timing = timing_of(performed(phrase))
    seconds = [timing.seconds_at(moment) for moment in moments]
    assert all(later > earlier for earlier, later in itertools.pairwise(seconds))
    assert [timing.beats_at(one) for one in seconds] == pytest.approx([float(m) for m in moments], abs=1e-6)
    assert timing.scaled(2.0).seconds_at(moments[-1]) == pytest.approx(seconds[-1] / 2)


@examples(60)
@given(phrases)
def test_a_performed_phrase_is_a_fixed_point_of_the_right_length(phrase):
    played = performed(phrase)
    assert performed(played) == played
    extra = sum((repeat.end - repeat.onset for repeat in phrase.repeats), F(0))
    end = max([phrase.end, *(repeat.end for repeat in phrase.repeats)])
    assert played.end <= end + extra
    onsets = [event.onset for event in played.events]
    assert onsets == sorted(onsets)
    assert all(a.end <= b.onset for a, b in zip(played.events, played.events[1:], strict=False))

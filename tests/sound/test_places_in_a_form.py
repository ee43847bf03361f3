"""A phrase put at bars of a form: whose turn is when, where it sounds, what is counted in, and what is refused."""

from __future__ import annotations

from fractions import Fraction

import pytest

from reedpath.errors import SoundError
from reedpath.lesson import Lesson
from reedpath.phrase import Tempo
from reedpath.pitch import Key
from reedpath.sound import Backing, BackingLayout, Turns, lay_out_backing
from reedpath.sound.turns import BarTurn, bar_turns
from support.built_routes import built_lesson, built_route

# two bars in E on an A harp
LICK = "2d 3d' 4b 4d' 4d:1 r:1 5d 4d 4b 3d' 2d:1 r:1"
# seconds of a bar at 96 quarter notes a minute
BAR = 2.5


def lesson(text: str = LICK, **more: object) -> Lesson:
    fields = {"key": "A", "bpm": 96.0, "swing": Fraction(2), "music_key": Key(4), **more}
    return built_lesson(built_route(text, **fields), factors=(1.0,))


def laid(given: Lesson, **fields: object) -> BackingLayout:
    return lay_out_backing(given, given.ladder[-1], Backing(form="twelve-bar", **fields))  # type: ignore[arg-type]


def bars_of_turns(layout: BackingLayout) -> list[tuple[float, bool]]:
    """In which bar of all rounds, from 1, each turn begins, and whether the harmonica plays it."""
    zero = layout.rounds[0].start_seconds - layout.rounds[0].onset / 4 * BAR
    return [(round((one.start_seconds - zero) / BAR + 1, 6), one.played) for one in layout.rounds]


def test_the_phrase_sounds_at_its_bars_in_every_round() -> None:
    layout = laid(lesson(), at_bars=(1, 5, 9))
    assert bars_of_turns(layout) == [(bar, True) for bar in (1, 5, 9, 13, 17, 21)]
    zero = layout.rounds[0].zero_seconds
    first = [spans[0].start_seconds for spans in layout.spans]
    assert first == pytest.approx([zero + BAR * bar for bar in (0, 4, 8, 12, 16, 20)])
    assert layout.cues == ()


def test_the_student_answers_in_the_bars_after_the_call_and_is_counted_in() -> None:
    layout = laid(lesson(), at_bars=(1, 5, 9), turns=Turns.CALL, rounds=1)
    assert bars_of_turns(layout) == [(1, True), (3, False), (5, True), (7, False), (9, True), (11, False)]
    answers = [one.start_seconds for one in layout.rounds if not one.played]
    bells = [one.seconds for one in layout.cues]
    assert bells == pytest.approx([at - BAR + beat * BAR / 4 for at in answers for beat in range(4)])


def test_a_phrase_that_fills_the_lines_is_answered_in_its_next_place() -> None:
    layout = laid(lesson(f"{LICK} {LICK}"), at_bars=(1, 5, 9), turns=Turns.CALL, rounds=2)
    assert bars_of_turns(layout) == [(1, True), (5, False), (9, True), (13, False), (17, True), (21, False)]


def test_alone_the_student_is_counted_in_where_the_band_has_played_alone() -> None:
    layout = laid(lesson(), at_bars=(5,), turns=Turns.YOURS)
    assert bars_of_turns(layout) == [(5, False), (17, False)]
    assert layout.tones == ()
    starts = [one.start_seconds for one in layout.rounds]
    assert [one.seconds for one in layout.cues if one.first] == pytest.approx([at - BAR for at in starts])


def test_a_turnaround_ends_with_the_form() -> None:
    layout = laid(lesson(), as_turnaround=True, rounds=2)
    assert bars_of_turns(layout) == [(11, True), (23, True)]
    assert layout.form.name == "twelve-bar"
    assert laid(lesson(), at_bars=(1,), as_turnaround=True).rounds[1].onset == 40


def test_the_form_is_chosen_for_the_bars() -> None:
    given = lesson()
    assert lay_out_backing(given, given.ladder[-1], Backing()).form.name == "one-chord"
    assert lay_out_backing(given, given.ladder[-1], Backing(at_bars=(1, 5))).form.name == "twelve-bar"
    minor = lesson("4d 5d 6d 4d:1", key="G", music_key=Key(9, "minor"))
    assert lay_out_backing(minor, minor.ladder[-1], Backing(at_bars=(5,))).form.name == "minor-twelve-bar"


def test_a_short_last_note_may_fall_on_the_bar_line_after_the_form() -> None:
    layout = laid(lesson("2d:1 3d 4b 4d:1 4d:1 5d:1 4d 3d 2d:2 2d:1"), as_turnaround=True, rounds=1)
    assert bars_of_turns(layout) == [(11, True)]
    last = layout.spans[0][-1]
    assert last.start_seconds == pytest.approx(layout.rounds[0].start_seconds + 2 * BAR)
    assert layout.seconds > last.end_seconds + 1


def test_a_pickup_comes_before_its_bar_over_the_band() -> None:
    given = lesson("4d 5d 6b:2 5d:1 4d:1", swing=Fraction(1), pickup=Fraction(1))
    layout = laid(given, at_bars=(5,), rounds=1)
    start = layout.rounds[0].start_seconds
    assert layout.spans[0][0].start_seconds == pytest.approx(start - BAR / 4)
    # the count-in is a whole bar, since the pickup is not played over it
    assert len(layout.clicks) == 4
    assert layout.clicks[-1].seconds == pytest.approx(start - 4 * BAR - BAR / 4)


def test_tempo_changes_of_the_phrase_come_again_at_each_place() -> None:
    given = lesson(swing=Fraction(1), tempos=(Tempo(Fraction(0), 96.0), Tempo(Fraction(4), 48.0)))
    layout = laid(given, at_bars=(1, 5), rounds=1)
    first, second = layout.rounds
    assert second.start_seconds - first.start_seconds == pytest.approx(BAR + 3 * 2 * BAR)


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({"at_bars": (13,)}, "no bar 13: it has 1 to 12"),
        ({"at_bars": (0,)}, "no bar 0"),
        ({"at_bars": (1, 2)}, "from bar 1 to bar 2 there are fewer"),
        ({"at_bars": (12,)}, "from bar 12 the phrase, 2 bars long, runs beyond"),
    ],
)
def test_bars_that_cannot_be_are_told(fields: dict[str, tuple[int, ...]], told: str) -> None:
    with pytest.raises(SoundError, match=told):
        laid(lesson(), **fields)


def test_turns_follow_one_another_without_a_gap() -> None:
    for turns in Turns:
        for at_bars in ((), (1,), (5,), (11,), (1, 3, 5, 7, 9, 11), (2, 9)):
            found = bar_turns(turns, form_bars=12, rounds=3, needed=2, core=2, at_bars=at_bars)
            assert [one.bar + one.bars for one in found[:-1]] == [one.bar for one in found[1:]]
            assert found[-1].bar + found[-1].bars == 36
            assert all(one.bars >= 2 for one in found)
    assert bar_turns(Turns.CALL, form_bars=12, rounds=2, needed=2) == [BarTurn(0, 12, True), BarTurn(12, 12, False)]

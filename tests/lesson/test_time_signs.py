"""Changes of tempo and metre, swing, pickups and rests: told once, where they happen, in words to count by."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.lesson import Lesson, StepKind, make_lesson, steps_of
from reedpath.lesson.time_signs import TimeChange, time_signs
from reedpath.phrase import Metre, Tempo
from support.built_routes import built_route
from support.examples import examples

EIGHT = "4b:1 4d:1 5b:1 5d:1 6b:1 6d:1 7b:1 8d:1"


def lesson_of(text: str, **fields: object) -> Lesson:
    return make_lesson(built_route(text, **fields))


def told(lesson: Lesson, *kinds: StepKind, language: str = "en") -> list[tuple[int | None, str]]:
    blocks = steps_of(lesson, language)
    return [(step.last, step.text) for block in blocks for step in block.steps if step.kind in kinds]


def tempos(*changes: tuple[int, float]) -> list[Tempo]:
    return [Tempo(Fraction(onset), bpm) for onset, bpm in changes]


def metres(*changes: tuple[str, int, int]) -> list[Metre]:
    return [Metre(Fraction(onset), count, unit) for onset, count, unit in changes]


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ([(0, 90), (4, 120)], [(4, "From here it goes faster: 120 at full tempo.")]),
        ([(0, 90), (4, 60)], [(4, "From here it goes slower: 60 at full tempo.")]),
        ([(0, 90), (4, 93)], []),  # not felt
        (
            [(0, 90), (2, 120), (6, 90)],
            [
                (2, "From here it goes faster: 120 at full tempo."),
                (6, "From here, back to the tempo of the beginning."),
            ],
        ),
        ([(0, 90), (4, 84), (5, 78), (6, 70)], [(4, "From here, slow down little by little, to 70 at full tempo.")]),
        ([(0, 90), (4, 95), (5, 110)], [(4, "From here, speed up little by little, to 110 at full tempo.")]),
        ([(0, 90), (8, 60)], []),  # after the last note
    ],
)
def test_a_change_of_tempo_is_told_where_it_happens(changes, said):
    assert told(lesson_of(EIGHT, tempos=tempos(*changes)), StepKind.TIME) == said


def test_a_tempo_is_told_in_counted_beats_and_in_french():
    dotted = metres(("0", 6, 8))
    lesson = lesson_of("4b:3/2 4d:3/2 5b:3/2", metres=dotted, tempos=tempos((0, 90), (3, 120)))
    assert told(lesson, StepKind.TIME, language="fr") == [
        (2, "À partir d’ici, on joue plus vite\u202f: 80 au tempo final.")
    ]


def test_slowing_down_over_the_last_note_is_told_at_it():
    lesson = lesson_of("4b:1 4d:1 5b:4", tempos=tempos((0, 100), (3, 90), (4, 80), (5, 60)))
    assert [event for event, _ in told(lesson, StepKind.TIME)] == [2]


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        (
            [("0", 4, 4), ("4", 3, 4)],
            [(4, "From here, count three to a bar (3/4).")],
        ),
        ([("0", 4, 4), ("4", 2, 4), ("6", 4, 4)], [(4, "Here comes a single bar of two (2/4).")]),
        ([("0", 4, 4), ("4", 6, 8)], [(4, "From here, count two to a bar (6/8).")]),
        ([("0", 4, 4), ("4", 4, 4)], []),
        # a bar that a repeat cuts in two: nobody counts another metre
        ([("0", 4, 4), ("3", 3, 4), ("6", 1, 4), ("7", 4, 4)], []),
        ([("0", 3, 4), ("3", 1, 4), ("4", 3, 4)], []),
    ],
)
def test_a_change_of_metre_is_told_where_it_happens_and_a_cut_bar_is_none(changes, said):
    assert told(lesson_of(EIGHT, metres=metres(*changes)), StepKind.TIME) == said


def test_repeated_notes_are_not_counted_over_a_change():
    lesson = lesson_of("4b:1 4b:1 4b:1 4b:1", tempos=tempos((0, 90), (2, 120)))
    assert told(lesson, StepKind.MOVE) == [(1, "Start on 4 blow, twice."), (3, "4 blow again, twice.")]


def test_a_change_inside_a_part_that_comes_again_names_its_bar():
    tune = "2d 3d' 4b 4d 4d 3d' 2d:1 r:1"
    lesson = lesson_of(f"{tune} {tune}", tempos=tempos((0, 90), (7, 60)))
    assert [text for _, text in told(lesson, StepKind.TIME)] == ["Bar 2: from here it goes slower: 60 at full tempo."]


def test_a_phrase_without_events_has_no_signs():
    assert time_signs(built_route("").phrase) == ()


def test_what_changes_is_named():
    signs = time_signs(built_route(EIGHT, tempos=tempos((0, 90), (4, 120)), metres=metres(("2", 3, 4))).phrase)
    assert [(sign.change, sign.event) for sign in signs] == [(TimeChange.METRE, 2), (TimeChange.FASTER, 4)]


@pytest.mark.parametrize(
    ("swing", "english", "french"),
    [
        (Fraction(1), None, None),
        (Fraction(2), "It swings: of every two eighths", "Le rythme est ternaire"),
        (Fraction(7, 4), "It swings: of every two eighths", "Le rythme est ternaire"),
        (Fraction(3), "It swings, three to one: ", "Les croches sont inégales, dans un rapport de trois à un"),
        (Fraction(3, 2), "It swings, three to two: ", "Les croches sont inégales, dans un rapport de trois à deux"),
        (Fraction(1, 2), "It snaps: ", "Les croches sont inégales, mais à l’envers"),
    ],
)
def test_swing_is_told_once_before_playing_with_its_ratio_only_where_it_is_unusual(swing, english, french):
    lesson = lesson_of(EIGHT, swing=swing)
    for language, begins in (("en", english), ("fr", french)):
        intro = [step.text for step in steps_of(lesson, language)[0].steps]
        assert sum("eighths" in text or "croches" in text for text in intro) == (begins is not None)
        assert begins is None or intro[-1].startswith(begins)


def test_a_pickup_is_told_before_playing():
    lesson = lesson_of(EIGHT, pickup=Fraction(1))
    assert steps_of(lesson, "en")[0].steps[-1].text == "It starts with a pickup: one beat before the first bar."


ONSETS = st.integers(0, 24).map(lambda half: Fraction(half, 2))
TEMPOS = st.lists(st.builds(Tempo, ONSETS, st.sampled_from([30.0, 60.0, 62.0, 90.0, 180.0])), max_size=8)
METRES = st.lists(
    st.builds(Metre, ONSETS, st.integers(1, 13), st.sampled_from([2, 4, 8, 16])),
    max_size=6,
    unique_by=lambda m: m.onset,
)


@given(changes=TEMPOS, metres=METRES, rests=st.integers(0, 3))
@examples(150)
def test_whatever_changes_is_told_at_a_note_that_is_there_and_every_note_is_still_spoken_of(changes, metres, rests):
    ordered = [sorted(some, key=lambda one: one.onset) for some in (changes, metres)]
    lesson = lesson_of(f"r:{rests} {EIGHT} 4b:2 r:1 {EIGHT}", tempos=ordered[0], metres=ordered[1])
    signs = time_signs(lesson.route.phrase)
    assert [sign.event for sign in signs] == sorted(sign.event for sign in signs)
    steps = {
        language: [one for block in steps_of(lesson, language) for one in block.steps] for language in ("en", "fr")
    }
    for of_language in steps.values():
        assert sum(step.kind is StepKind.TIME for step in of_language) == len(signs)
    spoken = [
        index
        for step in steps["en"]
        if step.kind in (StepKind.MOVE, StepKind.FIGURE, StepKind.REPEAT)
        for index in range(step.first, step.last + 1)
    ]
    assert spoken == list(range(17))


# ------------------------------------------------------------------------------------------------------ rests


@pytest.mark.parametrize(
    ("text", "english", "french"),
    [
        ("r:2 4b 4d", "First wait two beats.", "D’abord, on attend deux temps."),
        ("r:1/2 4b 4d", "First wait half a beat.", "D’abord, on attend un demi-temps."),
        ("4b r:1/2 4d r:1/2 5b", "Wait half a beat.", "On attend un demi-temps."),
    ],
)
def test_rests_are_said_before_the_first_note_and_by_halves(text, english, french):
    assert told(lesson_of(text), StepKind.REST)[-1][1] == english
    assert told(lesson_of(text), StepKind.REST, language="fr")[-1][1] == french


def test_parts_of_a_beat_are_counted_in_eighths_where_beats_have_three():
    lesson = lesson_of("4b r:1/2 4d r:1 5b r:2 5d:7/2", metres=metres(("0", 6, 8)))
    assert [text for _, text in told(lesson, StepKind.REST, StepKind.HOLD)] == [
        "Rest for an eighth.",
        "Wait two eighths.",
        "Rest for four eighths.",
        "Hold it for seven eighths.",
    ]


def test_a_rest_before_a_part_is_said_where_the_part_begins():
    tune = "2d 3d' 4b 4d 4d 3d' 2d:1"
    lesson = lesson_of(f"{tune} r:3 5d 4d 4b 3d' 2d:2 r:2 {tune}")
    blocks = [block for block in steps_of(lesson, "en") if block.parts]
    first = {block.parts[-1]: [step.text for step in block.steps][:2] for block in blocks if len(block.parts) == 1}
    assert first[0] == ["Start on 2 draw.", "Up one hole, 3 draw, bend it a half step."]
    assert first[1][0] == "First wait three beats."
    assert first[2] == ["Wait two beats before you come in.", "Then the first part again."]

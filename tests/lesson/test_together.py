"""Several holes at once are named by their notes and interval, rows of accents once, overblows with their advice."""

from __future__ import annotations

import pytest

from reedpath.lesson import Lesson, StepKind, make_lesson, steps_of
from reedpath.pitch import Key
from support.built_routes import built_route


def told(text: str, kind: StepKind, language: str = "en", **fields: object) -> list[str]:
    return said(make_lesson(built_route(text, **fields)), kind, language)


def said(lesson: Lesson, kind: StepKind, language: str = "en") -> list[str]:
    return [step.text for block in steps_of(lesson, language) for step in block.steps if step.kind is kind]


# the notes of a C harp follow from its tuning (docs/instrument.md); names of intervals and chords: common practice
@pytest.mark.parametrize(
    ("text", "english", "french"),
    [
        ("[2 5]d", "G and F: a seventh, not an octave.", "Sol et fa\u202f: une septième, et non une octave."),
        (
            "[1 4]d",
            "Both holes give the same note, an octave apart.",
            "Les deux trous donnent la même note, à une octave d’écart.",
        ),
        (
            "[3 7]d",
            "Both holes give the same note, an octave apart.",
            "Les deux trous donnent la même note, à une octave d’écart.",
        ),
        ("(2 3)d", "G and B: a third.", "Sol et si\u202f: une tierce."),
        ("(3 4)b", "G and C: a fourth.", "Sol et do\u202f: une quarte."),
        ("(5 6)d", "F and A: a third.", "Fa et la\u202f: une tierce."),
        ("(1 2 3)d", "D, G and B: the G major chord.", "Ré, sol et si\u202f: l’accord de sol majeur."),
        ("(4 5 6)d", "D, F and A: the D minor chord.", "Ré, fa et la\u202f: l’accord de ré mineur."),
        (
            "(2 3 4 5)d",
            "G, B, D and F: the G seventh chord.",
            "Sol, si, ré et fa\u202f: l’accord de sol septième.",
        ),
        ("(3 4 5)d", "B, D and F: the B diminished chord.", "Si, ré et fa\u202f: l’accord de si diminué."),
    ],
)
def test_what_several_holes_give_is_named_where_they_first_come(text: str, english: str, french: str) -> None:
    assert told(f"4b {text}", StepKind.SOUND)[0] == english
    assert told(f"4b {text}", StepKind.SOUND, "fr")[0] == french


def test_the_issue_s_split_on_an_a_harp_in_its_key() -> None:
    # 2 and 5 draw of an A harp are E and D
    assert told("[2 5]d", StepKind.SOUND, key="A", music_key=Key(4))[0] == "E and D: a seventh, not an octave."


def test_it_is_named_once_and_the_tongue_is_told_at_the_first_split() -> None:
    tongue = "The tongue covers what lies between; both corners of the mouth stay open."
    texts = told("(2 3)d [1 4]b [2 5]d [1 4]b (2 3)d [1 4]d", StepKind.SOUND)
    assert texts == [
        "G and B: a third.",
        "Both holes give the same note, an octave apart.",
        tongue,
        "G and F: a seventh, not an octave.",
        "Both holes give the same note, an octave apart.",
    ]


def test_an_accent_on_several_holes_is_sharp_on_all_of_them() -> None:
    assert "1, 2 and 3 together, draw, sharp, all three holes." in told("4b (1 2 3)d!", StepKind.MOVE)
    assert "Les trous 1, 2 et 3 ensemble, aspirés, bien sec, les trois trous." in told(
        "4b (1 2 3)d!", StepKind.MOVE, "fr"
    )
    assert told("4b [1 4]b!", StepKind.MOVE)[-1].endswith("sharp, both holes.")


def test_a_short_chord_with_a_rest_after_it_is_told_to_be_short_once_in_a_row() -> None:
    stabs = "4b (1 2 3)d:1/2 r:1/2 (1 2 3)d:1/2 r:1/2 (1 2 3)d:1 4b [1 4]b:1/2 r:1 4b"
    short = [text for text in told(stabs, StepKind.SOUND) if text.startswith("Short")]
    assert short == ["Short, all three holes at once.", "Short, both holes at once."]
    assert "Court, les trois trous à la fois." in told(stabs, StepKind.SOUND, "fr")
    assert not [text for text in told("4b 5b:1/2 r:1/2 (1 2)d:1 r:1 4b", StepKind.SOUND) if "Short" in text]


def test_accents_in_a_row_are_said_once() -> None:
    text = "4b! 4d! 5b! 5d! 6b"
    assert told(text, StepKind.SOUND) == ["From here, accent every note, four in a row."]
    assert not any("accent" in step for step in told(text, StepKind.MOVE))
    assert told("4b! 4d! 5b", StepKind.SOUND) == []
    assert [step.endswith("with an accent.") for step in told("4b! 4d! 5b", StepKind.MOVE)] == [True, True, False]


def test_the_same_note_accented_again_and_again_is_one_sentence() -> None:
    assert told("4b! 4b! 4b!", StepKind.MOVE) == ["Start on 4 blow, with an accent, three times."]
    assert told("4b! 4b! 4b!", StepKind.SOUND) == []


def test_vibrato_in_a_row_is_said_once() -> None:
    assert told("4b~ 4d~ 5b~", StepKind.SOUND, "fr") == [
        "À partir d’ici, du vibrato sur chaque note, trois de suite."
    ]


def test_the_first_overblow_brings_what_it_asks_of_harp_and_player_once() -> None:
    texts = told("6b 6bo 6d 4bo 6bo", StepKind.ADVICE)
    assert len(texts) == 3
    assert texts[0].startswith("Overblows need a harp set up for them: in holes 4 and 6 the blow reeds fall silent")
    assert "blow bend" in texts[1]
    assert "ruin a reed" in texts[2]
    block = next(block for block in steps_of(make_lesson(built_route("6b 6bo 6d")), "en") if block.parts)
    # in a group of its own after the note, so that what was written of the note stays there
    kinds = [(group.kind, group.first, len(group.steps), group.is_played) for group in block.groups]
    assert kinds == [
        (StepKind.MOVE, 0, 1, True),
        (StepKind.MOVE, 1, 1, True),
        (StepKind.ADVICE, 1, 3, False),
        (StepKind.MOVE, 2, 1, True),
    ]


def test_overdraws_have_their_own_advice_and_the_caution_comes_once() -> None:
    texts = told("6bo 7do", StepKind.ADVICE)
    assert len(texts) == 5
    assert "in hole 7 the draw reed falls silent and the blow reed answers" in texts[3]
    assert sum("ruin a reed" in text for text in texts) == 1


def test_a_phrase_without_any_of_it_says_nothing_more() -> None:
    assert told("4b 4d 5b", StepKind.SOUND) == told("4b 4d 5b", StepKind.ADVICE) == []

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from hypothesis import given
from msgspec.structs import replace

from reedpath.arrange import Route, Spot
from reedpath.harp import make_harp
from reedpath.lesson import Lesson, Step, StepBlock, StepKind, format_steps, make_lesson, part_words, steps_of
from reedpath.phrase import Metre, Part
from reedpath.pitch import Key
from reedpath.wording import catalogue_names, load_catalogue
from support.built_routes import built_route
from support.examples import examples
from support.lesson_routes import routes

CALL = "2d 3d' 4b 4d 4d 3d' 2d:1"
ANSWER = "5d 4d 4b 3d' 2d:2"
LANGUAGES = catalogue_names()
# kinds of step that speak of events one after another
TOLD = {StepKind.MOVE, StepKind.FIGURE, StepKind.REPEAT}


def lesson_of(text: str, **fields: object) -> Lesson:
    return make_lesson(built_route(text, **fields))


def parts_taught(lesson: Lesson, language: str = "en") -> list[StepBlock]:
    """The blocks without those that join parts by playing them from the start."""
    return [block for block in steps_of(lesson, language) if not block.is_through]


def said(lesson: Lesson, language: str = "en") -> list[str]:
    return [step.text for block in steps_of(lesson, language) for step in block.steps]


@given(routes())
@examples(120)
def test_every_event_is_spoken_of_once_in_order_in_every_language(route: Route) -> None:
    lesson = make_lesson(route, languages=LANGUAGES)
    for language in LANGUAGES:
        covered: list[int] = []
        for block in steps_of(lesson, language):
            for step in block.steps:
                # what speaks of events says from which to which
                assert (step.first is None) == (step.last is None)
                assert step.first is None or step.first <= step.last < len(route.events)
                if step.kind in TOLD and step.first is not None and step.last is not None:
                    covered += range(step.first, step.last + 1)
        assert covered == list(range(len(route.events)))


@given(routes())
@examples(80)
def test_sentences_are_whole_in_every_language(route: Route) -> None:
    lesson = make_lesson(route, languages=LANGUAGES)
    for language in LANGUAGES:
        for block in steps_of(lesson, language):
            assert block.title
            for step in block.steps:
                # a ninth is "eine None" in German
                assert not re.search(r"[{}']|  |\.\.|,,| ,|(?<!eine )None", step.text), step.text
                assert step.text[0].isupper() or step.text[0].isdigit() or step.text[0] in "“«„"
                assert step.text[-1] in ".:"


@given(routes(labelled=True))
@examples(40)
def test_labelled_parts_are_spoken_of_by_their_labels(route: Route) -> None:
    lesson = make_lesson(route)
    for index, part in enumerate(lesson.parts):
        words = part_words(lesson, index, load_catalogue("en"))
        if not part.found and part.same_as is None:
            assert words == f"“{part.label}”"


def test_a_repeated_part_is_said_in_one_sentence() -> None:
    lesson = lesson_of(f"{CALL} r:1 {ANSWER} r:1 6b 5d 4d 4b:1 5d 6b 6d:2 r:1 {ANSWER}")
    assert said(lesson).count("Then the second part again.") == 1
    assert said(lesson, "fr").count("Puis la deuxième partie à nouveau.") == 1
    headings = [block.title for block in parts_taught(lesson)]
    assert headings[1:5] == ["First part (A)", "Second part (B)", "Third part (C)", "Second part (B), again"]


def test_a_part_played_again_at_once() -> None:
    lesson = lesson_of(f"{CALL} r:1/2 {CALL} r:1/2 {CALL} r:1/2 5d 4d 4b 3d' 2d:2")
    assert said(lesson).count("The same twice more.") == 1
    block = steps_of(lesson, "en")[2]
    assert block.parts == (1, 2)
    again = next(step for step in block.steps if step.kind is StepKind.REPEAT)
    assert (again.first, again.last) == (7, 20)


def test_parts_that_come_again_in_the_same_order_are_said_together() -> None:
    tune = f"{CALL} r:1 {ANSWER} r:1 6b 5d 4d 4b:1 5d 6b 6d:2 r:1 6b 7b 7d 6d 6b 5b 4b:1 r:1/2"
    texts = said(lesson_of(f"{tune} {tune}"))
    assert texts.count("Then everything from the first part to the fourth part again.") == 1


def test_another_ending_is_told_from_where_it_differs() -> None:
    lesson = lesson_of(f"{CALL} r:1 {ANSWER} r:1 2d 3d' 4b 4d 4d 3d' 3d 4b:2")
    blocks = parts_taught(lesson)
    assert blocks[3].title == "First part (A′), another ending"
    told = [step for step in blocks[3].steps if step.kind is not StepKind.REST]
    assert [step.text for step in told][:2] == ["Like the first part, but the end goes:", "3 draw again."]
    assert (told[0].first, told[0].last) == (12, 17)


def test_before_playing_harp_position_and_shift_are_named() -> None:
    route = replace(built_route(f"{CALL} {ANSWER}", key="A", music_key=Key(4)), shift_semitones=-12)
    intro = [step.text for step in steps_of(make_lesson(route), "en")[0].steps]
    assert intro[:3] == [
        "Take the A harp.",
        "We play in second position: the music is in E major.",
        "The original is at another pitch: here it is played an octave down.",
    ]
    french = [step.text for step in steps_of(make_lesson(route), load_catalogue("fr"))[0].steps]
    assert french[:2] == [
        "On prend l’harmonica en la (A).",
        "On joue en deuxième position\u202f: la musique est en mi majeur.",
    ]


def test_another_tuning_is_named() -> None:
    route = built_route("2d 3d", harp=make_harp("C", "raised-5-draw"))
    assert said(make_lesson(route))[0] == "Take the C harp in this tuning: standard with draw 5 raised a semitone."


def test_spots_are_named_with_their_reason_and_their_tempos() -> None:
    route = built_route(f"{CALL} r:1 {ANSWER}", bpm=90)
    route = replace(route, spots=(Spot(0, 1, 3.0, ("cold_bend", "move")),))
    steps = next(block for block in steps_of(make_lesson(route), "en") if block.title == "To practise apart").steps
    assert steps[0].text == (
        "In the first part, bar 1, from 2 draw to 3 draw half-step bend: a bend has to be hit directly without "
        "sliding into it and the bends have to be in tune."
    )
    assert re.fullmatch(r"Play it three times in a row without a slip at each tempo: [\d, ]+ and 90\.", steps[1].text)
    assert {(step.first, step.last) for step in steps} == {(0, 1)}


def test_that_an_overblow_has_to_speak_at_once_says_that_there_is_one() -> None:
    route = replace(built_route("4d 6bo 6b 5b"), spots=(Spot(0, 1, 9.0, ("move", "overbend_attack")),))
    spot = next(text for text in said(make_lesson(route)) if text.startswith("In bar 1"))
    assert spot.endswith(": an overblow or overdraw has to speak at once.")


def test_a_phrase_without_spots_says_so() -> None:
    assert "No spot is harder than the rest: play it through." in said(lesson_of(CALL))


def test_tempos_are_told_in_counted_beats() -> None:
    lesson = lesson_of("4b 4d 5b 5d 6b 6d", bpm=90, metres=[Metre(Fraction(0), 6, 8)])
    assert said(lesson)[-1] == "And now at full tempo, 60."


def test_an_empty_lesson_says_that_there_is_nothing_to_play() -> None:
    assert said(lesson_of("")) == ["There is nothing to play."]


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_lesson_of_one_part_does_not_count_parts(language: str) -> None:
    lesson = lesson_of("4b 4d 5b")
    words = load_catalogue(language).ordinal_words("part", 1)
    assert not any(words in text for text in said(lesson, language))


def test_steps_md_holds_title_languages_in_order_and_blocks() -> None:
    lesson = make_lesson(built_route(f"{CALL} {ANSWER}"), title="Coal_dust *blues*", languages=("fr", "en"))
    text = format_steps(lesson)
    assert text.startswith("# Coal\\_dust \\*blues\\*\n\n## Français\n\n### Avant de jouer\n\n- On prend")
    assert text.index("## Français") < text.index("## English")
    assert text.endswith(".\n")
    assert "\n\n\n" not in text
    assert "## English" not in format_steps(lesson, ["fr"])


def test_french_spaces_survive_in_steps_md() -> None:
    text = format_steps(lesson_of(f"{CALL} {ANSWER}", music_key=Key(4)), ["fr"])
    assert "deuxième position\u202f: la musique" in text
    assert not re.search(r" [;:!?»]|« |'", text)


def test_what_belongs_to_one_event_stands_on_one_line_of_steps_md() -> None:
    text = format_steps(lesson_of("4b r:1 4d:2"), ["en"])
    assert "- Rest for one beat. Same hole, draw. Hold it for two beats.\n" in text


def test_a_label_cannot_break_the_markdown() -> None:
    route = built_route(CALL)
    evil = replace(route.phrase, parts=(Part("# [x](y) <b>\n\n- z", Fraction(0), route.phrase.end),))
    text = format_steps(make_lesson(replace(route, phrase=evil)), ["en"])
    assert "### \\# \\[x\\](y) \\<b\\> - z\n" in text


def test_what_is_said_of_one_event_is_one_group() -> None:
    kinds = StepKind
    steps = (
        Step("Before.", kinds.INTRO),
        Step("And more.", kinds.INTRO),
        Step("Breathe.", kinds.BREATH, 0, 0),
        Step("2 draw, twice.", kinds.MOVE, 0, 1),
        Step("Rest.", kinds.REST, 2, 2),
        Step("3 draw.", kinds.MOVE, 2, 2),
        Step("Two beats.", kinds.HOLD, 2, 2),
        Step("Those once more.", kinds.FIGURE, 3, 5),
        Step("Bar 1.", kinds.SPOT, 0, 3),
        Step("Five times.", kinds.SPOT, 0, 3),
        Step("Bar 2.", kinds.SPOT, 0, 4),
    )
    groups = StepBlock("", steps).groups
    assert [group.text for group in groups] == [
        "Before.",
        "And more.",
        "Breathe. 2 draw, twice.",
        "Rest. 3 draw. Two beats.",
        "Those once more.",
        "Bar 1. Five times.",
        "Bar 2.",
    ]
    assert [(group.kind, group.first, group.last) for group in groups[1:5]] == [
        (kinds.INTRO, None, None),
        (kinds.BREATH, 0, 1),
        (kinds.REST, 2, 2),
        (kinds.FIGURE, 3, 5),
    ]
    assert [group.moves for group in groups] == [(), (), (0, 1), (2,), (), (), ()]
    assert tuple(step for group in groups for step in group.steps) == steps


def test_what_is_said_of_how_several_holes_sound_is_said_of_that_event() -> None:
    """Short with a rest after it; together with what comes before it; the same breath for a run of two."""
    lesson = lesson_of("4d:1 (4 5)d:1/2 r:3/2 (4 5)d:1/2 (4 5)d:1/2 r:1 4b:2")
    sounds = [step for block in parts_taught(lesson) for step in block.steps if step.kind is StepKind.SOUND]
    assert sounds
    assert (1, 1) in [(step.first, step.last) for step in sounds]
    assert all(step.first is not None and step.last is not None for step in sounds)

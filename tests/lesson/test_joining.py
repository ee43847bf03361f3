"""Parts are joined as teaching goes: from the start, with what the join asks; the whole comes last."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from reedpath.arrange import Route
from reedpath.lesson import (
    Lesson,
    LessonPart,
    OwnWords,
    StepBlock,
    StepKind,
    StepPlace,
    WordsKind,
    decode_lesson,
    decode_steps,
    encode_lesson,
    format_steps,
    make_lesson,
    read_steps,
    steps_of,
)
from reedpath.lesson.joining import FEW_PARTS, GROWTH, SECTION_PARTS, joins_of
from reedpath.lesson.own_words import block_place
from reedpath.phrase import Part
from reedpath.wording import catalogue_names
from support.built_routes import built_lesson, built_route
from support.examples import examples
from support.lesson_routes import routes

CALL = "2d 3d' 4b 4d 4d 3d' 2d:1"
ANSWER = "5d 4d 4b 3d' 2d:2"
BRIDGE = "6b 5d 4d 4b:1 5d 6b 6d:2"
LANGUAGES = catalogue_names()


def lesson_of(text: str, **fields: object) -> Lesson:
    return make_lesson(built_route(text, **fields))


def through(lesson: Lesson, language: str = "en") -> list[StepBlock]:
    return [block for block in steps_of(lesson, language) if block.is_through]


def texts(block: StepBlock) -> list[str]:
    return [step.text for step in block.steps]


def bars(count: int, *, repeated: tuple[int, ...] = ()) -> Lesson:
    """A lesson of so many parts of a bar each, some of which are the first one again."""
    notes = [str(1 + index % 9) for index in range(count)]
    route = built_route(" ".join(f"{note}b:1 {note}d:1 {note}b:1 {int(note) + 1}b:1" for note in notes))
    parts = tuple(
        LessonPart(str(index), 4 * index, 4 * index + 3, same_as=0 if index in repeated else None, found=True)
        for index in range(count)
    )
    return replace(built_lesson(route, factors=(1.0,)), parts=parts)


# -------------------------------------------------------------------------------------------- the order of teaching


def test_part_one_part_two_from_the_start_part_three_from_the_start() -> None:
    lesson = lesson_of(f"{CALL} r:1 {ANSWER} r:1 {BRIDGE} r:1")
    titles = [block.title for block in steps_of(lesson, "en")]
    assert titles[1:6] == [
        "First part (A)",
        "Second part (B)",
        "From the start to B",
        "Third part (C)",
        "All of it, from the start",
    ]
    french = [block.title for block in steps_of(lesson, "fr")]
    assert (french[3], french[5]) == ("Depuis le début jusqu’à B", "Le tout, depuis le début")


def test_a_part_that_comes_back_is_placed() -> None:
    lesson = lesson_of(f"{CALL} r:1 {ANSWER} r:1 {BRIDGE} r:1 {ANSWER}")
    first, whole = through(lesson)
    assert texts(first)[0] == "Now from the start to the end of the second part."
    assert texts(whole)[0] == "Now all of it, from the start to the end. At the end, the second part again."
    assert texts(through(lesson, "fr")[-1])[0].endswith("À la fin, encore la deuxième partie.")
    lesson = lesson_of(f"{CALL} r:1 {ANSWER} r:1 {CALL} r:1 {BRIDGE} r:1")
    assert texts(through(lesson)[-1])[0].endswith("In this order: A, B, A and C.")


def test_what_comes_back_at_the_end_is_told_in_few_words() -> None:
    def end(*roots: int) -> str:
        """What is said of the end of a lesson of three new parts and these again."""
        lesson = bars(3 + len(roots))
        parts = (*lesson.parts[:3], *(replace(lesson.parts[3 + at], same_as=root) for at, root in enumerate(roots)))
        return texts(through(replace(lesson, parts=parts))[-1])[0].removeprefix(
            "Now all of it, from the start to the end. "
        )

    assert end(0) == "At the end, the first part again."
    assert end(0, 2) == "At the end, the first part and the third part again."
    assert end(2, 2) == "At the end, the third part again."
    assert end(0, 1, 2) == "At the end, everything from the first part to the third part again."
    assert end(0, 2, 0) == "At the end, the first part again."


def test_parts_that_come_again_in_a_row_are_headed_by_the_first_and_the_last() -> None:
    lesson = bars(6)
    parts = (
        *lesson.parts[:3],
        *(replace(part, same_as=at, label=str(at)) for at, part in enumerate(lesson.parts[3:])),
    )
    again = replace(lesson, parts=parts)
    titles = [[block.title for block in steps_of(again, language)][5] for language in ("en", "fr")]
    assert titles == ["0 to 2, again", "De 0 à 2, à nouveau"]


def test_parts_that_the_source_names_apart_do_not_come_back() -> None:
    route = built_route(f"{CALL} r:1 {ANSWER} r:1 {CALL}")
    edges = [Fraction(0), Fraction(5), Fraction(10), route.phrase.end]
    named = [
        Part(label, *edges[index : index + 2]) for index, label in enumerate(("Call", "Answer", "Call once more"))
    ]
    lesson = make_lesson(replace(route, phrase=replace(route.phrase, parts=tuple(named))))
    assert [part.same_as for part in lesson.parts] == [None, None, 0]
    titles = [block.title for block in steps_of(lesson, "en") if block.parts]
    assert titles == ["Call", "Answer", "Call once more", "All of it, from the start"]
    assert texts(through(lesson)[0])[0] == "Now all of it, from the start to the end."
    assert any("Into “Call once more”: " in text for text in texts(through(lesson)[0]))


def test_how_parts_join_is_told_by_hole_breath_leap_and_rest() -> None:
    lesson = lesson_of(f"{CALL} r:1 {ANSWER} r:1 {BRIDGE} r:1")
    first, whole = through(lesson)
    (into_answer,), (into_bridge,) = texts(first)[1:], texts(whole)[1:]
    up = "a leap of {} holes up, after one beat of rest."
    assert into_answer == f"Into the second part: from 2 draw to 5 draw, {up.format('three')}"
    assert into_bridge == f"Into the third part: from 2 draw to 6 blow, {up.format('four')}"
    assert [(step.first, step.last) for step in first.steps] == [(0, 11), (6, 7)]
    at_once = through(replace(bars(2), languages=("en", "fr")))[0]
    assert texts(at_once)[1] == "Into the second part: stay on 2 blow."
    assert (
        texts(through(bars(2), "fr")[0])[1]
        == "Pour enchaîner sur la deuxième partie\u202f: on reste sur le 2 soufflé."
    )


def test_a_join_has_the_articles_of_french_whatever_is_played() -> None:
    alone = through(lesson_of(f"{CALL} r:1 3d'' 4b 3d 4b 2d:2 r:1 6b 5d 4d 5b 6b:2"), "fr")
    said = [text for block in alone for text in texts(block)[1:]]
    assert any("partie\u202f: du 2 aspiré au 3 aspiré altéré d’un ton" in text for text in said), said
    chords = through(lesson_of("4b 5b 6b 5b [1 4]b:1 r:1 (1 2 3)d 4d 5d 6d (4 5)d:2 r:1 4d 4b 5d 6d 2d:2"), "fr")
    said = [text for block in chords for text in texts(block)[1:]]
    assert any("des trous 1 et 4 soufflés à la langue aux trous 1, 2 et 3 aspirés" in text for text in said), said


def test_a_join_that_was_told_is_not_told_again() -> None:
    lesson = lesson_of(f"{CALL} r:1 {ANSWER} r:1 {CALL} r:1 {ANSWER} r:1 {BRIDGE} r:1 {BRIDGE.replace('6d', '7d')}")
    told = [text for block in through(lesson) for text in texts(block)[1:]]
    assert told[:3] == [
        "Into the second part: from 2 draw to 5 draw, a leap of three holes up, after one beat of rest.",
        "Into the first part again: stay on 2 draw, after one beat of rest.",
        "Into the third part: from 2 draw to 6 blow, a leap of four holes up, after one beat of rest.",
    ]
    assert len(set(told)) == len(told)


def test_the_order_is_told_once() -> None:
    lesson = lesson_of(f"{CALL} r:1 {ANSWER} r:1 {CALL} r:1 {BRIDGE} r:1 {ANSWER}")
    assert texts(through(lesson)[-1])[0] == (
        "Now all of it, from the start to the end. In this order: A, B, A, C and B."
    )


def test_a_lesson_of_one_part_is_not_joined() -> None:
    assert through(lesson_of("4b 4d 5b")) == []


@pytest.mark.parametrize("count", [2, 3, 4])
def test_a_short_lesson_joins_after_each_new_part_from_the_second_on(count: int) -> None:
    assert [block.parts[-1] for block in through(bars(count))] == list(range(1, count))


def test_a_long_lesson_joins_seldom() -> None:
    from_start = [block.parts[-1] + 1 for block in through(bars(104)) if block.parts[0] == 0]
    assert from_start == [2, 3, 5, 8, 12, 18, 27, 41, 62, 93, 104]


def test_in_between_a_long_lesson_joins_four_new_parts_in_a_row() -> None:
    between = [block for block in through(bars(104)) if block.parts[0]]
    assert [block.parts[-1] + 1 for block in between][:6] == [16, 22, 26, 31, 35, 39]
    assert len(between) == 20
    assert all(len(block.parts) == SECTION_PARTS for block in between)
    assert between[0].title == "Together: 12 to 15"
    assert texts(between[0])[0] == "Now in one go from the 13th part to the 16th part."
    french = next(block for block in through(bars(104), "fr") if block.parts[0])
    assert (french.title, texts(french)[0]) == (
        "À la suite\u202f: de 12 à 15",
        "Maintenant, d’une traite, de la 13e partie à la 16e partie.",
    )
    assert (between[0].steps[0].first, between[0].steps[0].last) == (48, 63)
    # a part that comes back ends the row
    assert not [block for block in through(bars(40, repeated=tuple(range(3, 40, 4)))) if block.parts[0]]


# ----------------------------------------------------------------------------------------------------- properties


@given(routes())
@examples(120)
def test_the_whole_is_played_from_the_start_last_and_joins_are_few(route: Route) -> None:
    lesson = make_lesson(route, languages=LANGUAGES)
    joins = joins_of(lesson)
    if len(lesson.parts) < 2:
        assert joins == ()
        return
    assert joins[-1].last == len(lesson.parts) - 1
    new = [index for index, part in enumerate(lesson.parts) if part.same_as is None]
    assert [join.last for join in joins] == sorted({join.last for join in joins})
    assert all(join.last in new[1:-1] for join in joins[:-1])
    assert all(join.last - join.first + 1 == SECTION_PARTS for join in joins if join.first)
    assert sum(join.first > 0 for join in joins) <= len(new) / SECTION_PARTS
    if len(new) > FEW_PARTS:
        events = lesson.route.events
        from_start = [join for join in joins if join.first == 0]
        lengths = [events[lesson.parts[join.last].last].event.end - events[0].event.onset for join in from_start]
        assert len(from_start) <= 2 + math.ceil(math.log(max(1, lengths[-1] / lengths[0]), GROWTH))
        # all that is played from the start before the whole is less than three times the last of it
        assert sum(lengths[:-1]) <= 3 * lengths[-1]
    for language in LANGUAGES:
        blocks = steps_of(lesson, language)
        taught = [block for block in blocks if block.parts]
        assert taught[-1].steps[0].kind is StepKind.THROUGH
        assert (taught[-1].steps[0].first, taught[-1].steps[0].last) == (0, len(route.events) - 1)
        assert all(block.title and block.steps for block in blocks)
        reached = -1
        for block in taught:
            if block.is_through:
                assert block.parts == tuple(range(block.parts[0], reached + 1))  # only what was taught
            reached = max(reached, *block.parts)


@pytest.mark.slow
@given(routes())
@examples(40)
def test_blocks_have_places_of_their_own_and_steps_are_read_back_as_nothing_new(route: Route) -> None:
    lesson = make_lesson(route, languages=LANGUAGES)
    for language in LANGUAGES:
        places = [block_place(lesson, block) for block in steps_of(lesson, language)]
        assert len(set(places)) == len(places)
    read = read_steps(format_steps(lesson), lesson, decode_steps(encode_lesson(lesson)))
    assert read.own_words == ()
    assert read.title == " ".join(lesson.title.split())


# ------------------------------------------------------------------------------------------------------ own words


def test_what_is_said_of_a_join_can_be_said_otherwise() -> None:
    lesson = lesson_of(f"{CALL} r:1 {ANSWER} r:1 {BRIDGE} r:1")
    text = format_steps(lesson)
    for old, new in (
        ("### From the start to B", "### Both together"),
        ("- Now from the start to the end of the second part.", "- Both, without stopping.\n\nListen for the join."),
        ("- Pour enchaîner sur la troisième partie", "- Et hop, la troisième partie"),
    ):
        assert old in text
        text = text.replace(old, new, 1)
    read = read_steps(text, lesson, decode_steps(encode_lesson(lesson)))
    own = replace(lesson, own_words=read.own_words)
    assert [(words.kind, words.place.block) for words in own.own_words] == [
        (WordsKind.HEADING, "through"),
        (WordsKind.SENTENCE, "through"),
        (WordsKind.NOTE, "through"),
        (WordsKind.SENTENCE, "through"),
    ]
    assert decode_lesson(encode_lesson(own)) == own
    said = format_steps(own)
    assert "### Both together\n\n- Both, without stopping.\n- Listen for the join.\n" in said
    assert "- Et hop, la troisième partie" in said
    again = read_steps(said, own, decode_steps(encode_lesson(own)))
    assert again.own_words == own.own_words


def test_words_written_before_parts_were_joined_stand_where_they_stood() -> None:
    lesson = lesson_of(f"r:2 {CALL} r:1 {ANSWER} r:1 {CALL} r:1 6bo 6b 5d 5b 4d 4b:2", swing=Fraction(2))
    assert [part.first for part in lesson.parts] == [0, 7, 12, 19]
    words = [
        # as an older version of the program wrote them, which said no rests, no swing and no advice
        OwnWords("en", WordsKind.SENTENCE, StepPlace("part", 0, 0, 0, 1), "Dig in.", moves=("-2",)),
        OwnWords("en", WordsKind.HEADING, StepPlace("part", 7), "The reply"),
        OwnWords("en", WordsKind.SENTENCE, StepPlace("part", 12, 12, 18, 1), "Once more.", "Then it again."),
        OwnWords("en", WordsKind.SENTENCE, StepPlace("part", 19, 19, 19, 1), "Pop it.", moves=("+6o",)),
        OwnWords("en", WordsKind.SENTENCE, StepPlace("intro", number=1), "C harp!", "Take the C harp."),
        OwnWords("en", WordsKind.NOTE, StepPlace("part", 19, 20, 20, 1), "And rest.", moves=("+6",)),
    ]  # fmt: skip
    said = format_steps(replace(lesson, own_words=tuple(words)), ["en"])
    for line in ("- Dig in.", "### The reply", "- Once more.", "- Pop it.", "- C harp!", "- And rest."):
        assert f"{line}\n" in said, line


@given(st.integers(5, 60), st.sets(st.integers(1, 59), max_size=12))
@examples(60)
def test_however_many_parts_only_new_ones_are_joined_to(count: int, repeated: set[int]) -> None:
    lesson = bars(count, repeated=tuple(repeated))
    ends = [join.last for join in joins_of(lesson)]
    assert ends[-1] == count - 1
    assert not set(ends[:-1]) & repeated

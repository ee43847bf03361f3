from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from random import Random

import pytest
from hypothesis import given
from msgspec.structs import replace

from reedpath.arrange import Route
from reedpath.lesson import LessonPart, make_lesson, part_groups, parts_of
from reedpath.lesson.held_in_mind import thing_ends, things_between
from reedpath.lesson.parts import FEWEST, LONGEST, boundary_strengths
from reedpath.lesson.repeats import tokens_of
from reedpath.phrase import Part, bars
from reedpath.wording import load_catalogue
from support.built_routes import built_route
from support.examples import examples
from support.lesson_routes import routes

CALL = "2d 3d' 4b 4d 4d 3d' 2d:1"
ANSWER = "5d 4d 4b 3d' 2d:2"


def tokens_of_part(tokens: tuple[int, ...], part: LessonPart, count: int | None = None) -> tuple[int, ...]:
    size = part.last - part.first + 1 if count is None else count
    return tokens[2 * part.first : 2 * (part.first + size) - 1]


def labels(route: Route) -> list[str]:
    return [part.label for part in parts_of(route)]


@given(routes())
@examples(150)
def test_parts_cover_every_event_once_and_what_they_repeat_is_the_same(route: Route) -> None:
    parts, tokens = parts_of(route), tokens_of(route.events)
    covered = [index for part in parts for index in range(part.first, part.last + 1)]
    assert covered == list(range(len(route.events)))
    for index, part in enumerate(parts):
        assert part.label
        assert part.last - part.first < LONGEST
        if part.same_as is not None:
            assert part.same_as < index
            assert part.like is None
            assert parts[part.same_as].same_as is None
            assert tokens_of_part(tokens, part) == tokens_of_part(tokens, parts[part.same_as])
        if part.like is not None:
            assert part.like < index
            assert 0 < part.shared <= part.last - part.first + 1
            shared = tokens_of_part(tokens, part, part.shared)
            assert shared == tokens_of_part(tokens, parts[part.like], part.shared)


@given(routes())
@examples(80)
def test_expanding_the_parts_gives_back_the_route(route: Route) -> None:
    parts, tokens = parts_of(route), tokens_of(route.events)
    expanded: list[int] = []
    for part in parts:
        if part.same_as is not None:
            expanded += tokens_of_part(tokens, parts[part.same_as])[::2]
        elif part.like is not None:
            like = parts[part.like]
            expanded += tokens_of_part(tokens, like, part.shared)[::2]
            expanded += tokens[2 * (part.first + part.shared) : 2 * part.last + 1 : 2]
        else:
            expanded += tokens_of_part(tokens, part)[::2]
    assert tuple(expanded) == tokens[::2]


@given(routes())
@examples(60)
def test_a_repeated_part_has_the_label_of_the_first_and_others_have_their_own(route: Route) -> None:
    parts = parts_of(route)
    new = [part.label for part in parts if part.same_as is None]
    assert len(set(new)) == len(new)
    assert all(part.label == parts[part.same_as].label for part in parts if part.same_as is not None)


def test_a_phrase_of_two_lines_played_twice_is_two_parts_played_twice() -> None:
    assert labels(built_route(f"{CALL} {ANSWER} {CALL} {ANSWER}")) == ["A", "B", "A", "B"]


def test_another_ending_is_told_as_such() -> None:
    first, ending = f"{CALL} r:1", "2d 3d' 4b 4d 4d 3d' 2d 3d 4b:2"
    parts = parts_of(built_route(f"{first} {ANSWER} r:1 {ending}"))
    assert [part.label for part in parts] == ["A", "B", "A′"]
    assert (parts[2].like, parts[2].shared) == (0, 6)


def test_a_cut_falls_at_the_rest() -> None:
    parts = parts_of(built_route("2d 3d 4b 4d 5b 5d:1 r:1 6b 6d 5d 5b 4d 4b:2", bpm=120))
    assert [(part.first, part.last) for part in parts] == [(0, 5), (6, 11)]


def test_parts_are_of_a_length_that_a_student_holds() -> None:
    scale = "4b 4d 5b 5d 6b 6d 7d 7b 7d 6d 6b 5d 5b 4d 4b 3d 3b 2d 2b 1d 1b 2b 2d 3b 3d 4b 5b 6b 7b 8b"
    sizes = [part.last - part.first + 1 for part in parts_of(built_route(scale))]
    assert all(FEWEST <= size <= 12 for size in sizes)


def test_the_source_labels_win() -> None:
    route = built_route(f"6b 6d 7b 7d:1 7b 6d 6b 6d 7b 7d 7b:2 8b {CALL} {ANSWER}")
    middle = route.events[12].event.onset
    labelled = replace(route.phrase, parts=(Part("Call", Fraction(0), middle),))
    parts = parts_of(replace(route, phrase=labelled))
    assert (parts[0].label, parts[0].first, parts[0].last, parts[0].found) == ("Call", 0, 11, False)
    assert all(part.found for part in parts[1:])
    assert parts[1].label == "A"


def test_a_letter_that_the_source_uses_is_not_given_again() -> None:
    route = built_route(f"{CALL} {ANSWER}")
    labelled = replace(route.phrase, parts=(Part("A", Fraction(0), route.events[7].event.onset),))
    assert labels(replace(route, phrase=labelled)) == ["A", "B"]


def test_a_labelled_part_too_long_to_teach_is_cut_and_numbered() -> None:
    route = built_route(" ".join(["2d 3d' 4b 4d:1 5d 4d 4b:1 r:1/2"] * 4))
    labelled = replace(route.phrase, parts=(Part("Verse", Fraction(0), route.phrase.end),))
    parts = parts_of(replace(route, phrase=labelled))
    assert [part.label for part in parts] == [f"Verse ({number})" for number in range(1, len(parts) + 1)]
    assert len(parts) > 1
    assert parts[1].same_as == 0


def test_the_innermost_of_two_labels_names_the_part() -> None:
    route = built_route(f"{CALL} {ANSWER}")
    middle = route.events[7].event.onset
    both = (Part("Chorus", Fraction(0), route.phrase.end), Part("Tag", middle, route.phrase.end))
    assert labels(replace(route, phrase=replace(route.phrase, parts=both))) == ["Chorus", "Tag"]


# four bars that come round: two with five notes each, then two that end on a long one
ROUND = "2d:1 3d:1/2 4d:1/2 4b:1 4d:1 5d:1 4d:1/2 4b:1/2 3d:1 2d:1 3d:1 4d:1 5d:1 6b:1 5d:1 4d:1 2d:2"


def test_long_music_is_taught_in_whole_bars_two_to_four_at_a_time() -> None:
    route = built_route(" ".join([ROUND, ROUND.replace("5d", "6b"), ROUND.replace("3d", "1d")] * 9), bpm=112)
    parts = parts_of(route)
    onsets = [route.events[part.first].event.onset for part in parts]
    lengths = [after - before for before, after in pairwise([*onsets, route.phrase.end])]
    assert len(bars(route.phrase)) == 108
    assert all(onset % 4 == 0 for onset in onsets)
    assert all(8 <= length <= 16 for length in lengths)
    assert len(parts) <= 54


# four bars of running eighths: up and down the scale, and broken chords
EIGHTHS = "4b 4d 5b 4d 4b 5b 6b 5b 5d 5b 4d 5b 5d 6d 5d 4d 4b 4d 5b 4d 4b 5b 6b 6b 6d 6b 5b 4d 4b:2"


def test_long_music_of_running_eighths_is_taught_two_bars_at_a_time() -> None:
    turns = [EIGHTHS, EIGHTHS.replace("6", "7"), EIGHTHS.replace("4d", "3d"), EIGHTHS.replace("5b", "3b")]
    route = built_route(" ".join([*turns, EIGHTHS]), bpm=120)
    assert len(bars(route.phrase)) == 20
    parts = parts_of(route)
    onsets = [route.events[part.first].event.onset for part in parts]
    lengths = [after - before for before, after in pairwise([*onsets, route.phrase.end])]
    assert lengths == [8] * 10


def test_long_music_that_leaps_about_is_taught_bar_by_bar() -> None:
    drawn = Random(2)
    holes = [1]
    while len(holes) < 160:
        holes.append(drawn.choice([hole for hole in range(1, 11) if abs(hole - holes[-1]) > 2]))
    leaps = " ".join(f"{hole}{drawn.choice('bd')}" for hole in holes)
    route = built_route(leaps, bpm=120)
    parts, ends = parts_of(route), thing_ends(route, tokens_of(route.events))
    sizes = [part.last - part.first + 1 for part in parts]
    assert set(sizes) == {8, 16}
    assert sizes.count(8) > len(sizes) / 2
    assert all(things_between(ends, part.first, part.last + 1) <= 13 for part in parts)


def test_many_parts_are_grouped_by_the_labels_of_the_source_and_eight_at_a_time() -> None:
    route = built_route(" ".join([ROUND] * 12), bpm=112)
    third = route.phrase.end / 3
    named = tuple(Part(label, index * third, (index + 1) * third) for index, label in enumerate(("Verse", "Coda")))
    lesson = make_lesson(replace(route, phrase=replace(route.phrase, parts=named)))
    groups = part_groups(lesson)
    assert [number for one in groups for number in range(one.first, one.last + 1)] == list(range(len(lesson.parts)))
    assert [one.label for one in groups] == ["Verse", "Coda", ""]
    english = load_catalogue("en")
    assert [one.name(lesson, english) for one in groups][:2] == ["Verse", "Coda"]
    last = groups[-1]
    assert lesson.parts[last.first].label in last.name(lesson, english)
    assert part_groups(make_lesson(built_route(f"{CALL} {ANSWER}"))) == ()


def test_degenerate_routes() -> None:
    assert parts_of(built_route("")) == ()
    assert [(part.first, part.last) for part in parts_of(built_route("4b"))] == [(0, 0)]


def test_what_comes_again_is_cut_alike_even_where_the_bar_lines_fall_otherwise() -> None:
    eight_and_a_half = "2d 3d' 4b 4d:1 4d 3d' 2d:1 5d 4d 4b 3d' 2d:2"
    parts = parts_of(built_route(f"{eight_and_a_half} {eight_and_a_half}"))
    half = len(parts) // 2
    assert [part.same_as for part in parts[half:]] == list(range(half))


@pytest.mark.parametrize("text", ["4b", "", "4b 4b 4b 4b"])
def test_boundary_strengths_are_one_fewer_than_events_and_0_to_1(text: str) -> None:
    strengths = boundary_strengths(built_route(text).events)
    assert len(strengths) == max(0, len(text.split()) - 1)
    assert all(0 <= strength <= 1 for strength in strengths)


def test_the_strongest_boundary_follows_the_longest_note() -> None:
    strengths = boundary_strengths(built_route("4b 4d 5b 5d:3 6b 6d 7d").events)
    assert strengths.index(max(strengths)) == 3

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.lesson.repeats import (
    common_length,
    copy_lengths,
    known_from,
    maximal_repeats,
    suffix_order,
    tandem_at,
    tokens_of,
)
from support.built_routes import built_route
from support.examples import examples

TOKENS = st.lists(st.integers(0, 2), max_size=40)


def interleaved(notes: list[int], gaps: list[int]) -> tuple[int, ...]:
    """Notes and silences in turns, as `tokens_of` numbers them."""
    mixed = [0] * max(0, 2 * len(notes) - 1)
    mixed[::2] = [2 * note for note in notes]
    mixed[1::2] = [2 * gap + 1 for gap in gaps[: max(0, len(notes) - 1)]]
    return tuple(mixed)


SEQUENCES = st.builds(
    interleaved, st.lists(st.integers(0, 2), max_size=24), st.lists(st.integers(0, 1), min_size=24, max_size=24)
)


def block(tokens: tuple[int, ...], start: int, length: int) -> tuple[int, ...]:
    return tokens[2 * start : 2 * (start + length) - 1] if length else ()


@given(TOKENS)
def test_suffixes_stand_in_lexical_order(tokens: list[int]) -> None:
    assert suffix_order(tokens) == sorted(range(len(tokens)), key=lambda start: tokens[start:])


@given(SEQUENCES)
@examples(150)
def test_maximal_repeats_are_those_that_enumeration_finds(tokens: tuple[int, ...]) -> None:
    count = (len(tokens) + 1) // 2
    expected = set()
    for length in range(1, count):
        places: dict[tuple[int, ...], list[int]] = {}
        for start in range(count - length + 1):
            places.setdefault(block(tokens, start, length), []).append(start)
        for starts in places.values():
            if len(starts) < 2:
                continue
            before = {tokens[2 * start - 2 : 2 * start] if start else ("start",) for start in starts}
            after = {
                tokens[2 * (start + length) - 1 : 2 * (start + length) + 1] if start + length < count else ("end",)
                for start in starts
            }
            if (len(before) > 1 or before == {("start",)}) and (len(after) > 1 or after == {("end",)}):
                expected.add((tuple(starts), length))
    found = maximal_repeats(tokens)
    assert {(one.starts, one.length) for one in found} == expected
    assert [one.length for one in found] == sorted((one.length for one in found), reverse=True)


@pytest.mark.slow
@given(SEQUENCES, st.integers(1, 12))
@examples(150)
def test_copy_lengths_are_those_that_enumeration_finds(tokens: tuple[int, ...], most: int) -> None:
    count = (len(tokens) + 1) // 2
    lengths = copy_lengths(tokens, most=most)
    assert len(lengths) == count
    for start in range(count):
        best = 0
        for other in range(count):
            shared = min(common_length(tokens, start, other), most) if other != start else 0
            best = max(best, min(shared, abs(start - other)))
        assert lengths[start] == best


@given(SEQUENCES)
@examples(60)
def test_what_came_before_is_what_enumeration_finds(tokens: tuple[int, ...]) -> None:
    for start, found in enumerate(known_from(tokens)):
        shared = [(common_length(tokens, start, before), before) for before in range(start)]
        assert found == max(shared, key=lambda one: (one[0], -one[1]), default=(0, start)) or found[0] == 0
        assert found[0] == max((one for one, _ in shared), default=0)


@given(SEQUENCES)
def test_common_length_counts_equal_events(tokens: tuple[int, ...]) -> None:
    count = (len(tokens) + 1) // 2
    for one, other in combinations(range(count), 2):
        length = common_length(tokens, one, other)
        assert length == common_length(tokens, other, one)
        assert block(tokens, one, length) == block(tokens, other, length)
        if other + length < count:
            assert block(tokens, one, length + 1) != block(tokens, other, length + 1)


def test_a_figure_played_three_times_is_found_with_its_size() -> None:
    tokens = tokens_of(built_route("2d 3d 4b 2d 3d 4b 2d 3d 4b 5d").events)
    assert tandem_at(tokens, 0, 9, sizes=range(2, 7)) == (3, 3)
    assert tandem_at(tokens, 0, 7, sizes=range(2, 7)) == (3, 2)
    assert tandem_at(tokens, 7, 9, sizes=range(2, 7)) == (0, 1)


def test_the_same_moves_in_another_rhythm_are_no_repeat() -> None:
    straight = tokens_of(built_route("2d 3d 4b 2d 3d 4b").events)
    longer = tokens_of(built_route("2d 3d 4b 2d:1 3d 4b").events)
    broken = tokens_of(built_route("2d 3d 4b 2d r 3d 4b").events)
    assert common_length(straight, 0, 3) == 3
    assert common_length(longer, 0, 3) == 0
    assert common_length(broken, 0, 3) == 1


def test_ornaments_and_changes_tell_events_apart() -> None:
    tokens = tokens_of(built_route("4d 4d~ 4d! 4d^1 4d_1 4d").events)
    assert len(set(tokens[::2])) == 5
    assert tokens[0] == tokens[-1]


def test_nothing_repeats_in_nothing() -> None:
    assert tokens_of(()) == ()
    assert maximal_repeats(()) == ()
    assert copy_lengths((), most=4) == []
    assert known_from(()) == []

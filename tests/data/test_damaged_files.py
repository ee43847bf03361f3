"""Damaged files of phrases and lessons, of either version: they are read, or refused with an error of ours."""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.errors import ReedpathError
from reedpath.lesson import decode_lesson, encode_lesson
from reedpath.phrase import bars, decode_phrase, encode_phrase, performed
from support.examples import examples

OF_VERSION_1 = Path(__file__).parent / "version_1"
Path_ = tuple[str | int, ...]

ODD = [
    None, True, False, 0, 1, -1, 2, 13, 128, 10**9, -(10**9), 10**30, 0.001, 1e-300, 1e300, -0.5, float("nan"), "",
    "0", "1/3", "-1", "1/0", "999999999999999999", "1/999999999999999999", "x" * 5_000, "\ud800", "\x00\u202e",
    "silent", "bend", "straight", "en", "../../etc", [], {}, [[]], [0], ["0"], [None], {"": None}, {"kind": "voice"},
]  # fmt: skip


def nested(depth: int) -> Any:
    value: Any = []
    for _ in range(depth):
        value = [value]
    return value


@cache
def files() -> dict[str, Any]:
    lesson, phrase = ((OF_VERSION_1 / f"{name}.json").read_bytes() for name in ("lesson", "phrase"))
    return {
        "lesson 1": json.loads(lesson),
        "lesson 2": json.loads(encode_lesson(decode_lesson(lesson))),
        "phrase 1": json.loads(phrase),
        "phrase 2": json.loads(encode_phrase(decode_phrase(phrase))),
    }


def places(value: Any, path: Path_ = ()) -> Iterator[Path_]:
    """Where in the data something stands that can be damaged."""
    pairs = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for step, one in pairs:
        if step not in ("steps", "version", "schema"):
            yield (*path, step)
            yield from places(one, (*path, step))


@cache
def places_of(name: str) -> tuple[Path_, ...]:
    return tuple(places(files()[name]))


def at(data: Any, path: Path_) -> Any:
    for step in path:
        data = data[step]
    return data


@st.composite
def damaged(draw: st.DrawFn, name: str) -> str:
    data = copy.deepcopy(files()[name])
    for _ in range(draw(st.integers(1, 3))):
        path = draw(st.sampled_from(places_of(name)))
        try:
            inside, last = at(data, path[:-1]), path[-1]
            now = inside[last]
        except (KeyError, IndexError, TypeError):
            continue  # gone with an earlier damage
        match draw(st.sampled_from(("odd", "other", "gone", "twice", "key", "number", "deep"))):
            case "odd":
                inside[last] = copy.deepcopy(draw(st.sampled_from(ODD)))
            case "other":
                inside[last] = copy.deepcopy(at(files()[name], draw(st.sampled_from(places_of(name)))))
            case "gone":
                del inside[last]
            case "twice" if isinstance(inside, list):
                inside.insert(int(last), copy.deepcopy(now))
            case "key" if isinstance(inside, dict):
                inside[draw(st.sampled_from(("midi", "", "\ud800", "x" * 999)))] = inside.pop(last)
            case "number" if isinstance(now, (int, float)):
                inside[last] = draw(st.integers(-3, 200) | st.floats(allow_nan=True))
            case "deep":
                inside[last] = nested(draw(st.sampled_from((3, 300))))
    return json.dumps(data)


@contextmanager
def refused_plainly() -> Iterator[None]:
    """An error of ours may be raised, and can be said."""
    try:
        yield
    except ReedpathError as error:
        if not str(error):
            raise AssertionError("an error that says nothing") from error


@pytest.mark.slow
@given(st.sampled_from(("lesson 1", "lesson 2")).flatmap(damaged))
@examples(400)
def test_a_damaged_lesson_is_read_or_refused(text: str) -> None:
    with refused_plainly():
        lesson = decode_lesson(text.encode())
        # points, shares and litres are written with four decimals, so it is what was written that comes back
        written = decode_lesson(encode_lesson(lesson))
        assert written.route.phrase == lesson.route.phrase
        assert [one.choice for one in written.route.events] == [one.choice for one in lesson.route.events]
        assert decode_lesson(encode_lesson(written)) == written


@pytest.mark.slow
@given(st.sampled_from(("phrase 1", "phrase 2")).flatmap(damaged))
@examples(400)
def test_a_damaged_phrase_is_read_or_refused(text: str) -> None:
    with refused_plainly():
        phrase = decode_phrase(text.encode())
        assert decode_phrase(encode_phrase(phrase)) == phrase
        bars(performed(phrase))


@given(st.sampled_from(sorted(files())), st.integers(0, 40_000), st.binary(max_size=3))
@examples(200)
def test_hurt_bytes_are_read_or_refused(name: str, cut: int, by: bytes) -> None:
    data = json.dumps(files()[name]).encode()
    cut %= len(data)
    with refused_plainly():
        (decode_lesson if "lesson" in name else decode_phrase)(data[:cut] + by + data[cut + len(by) :])

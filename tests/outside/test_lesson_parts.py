"""Parts and repeats judged on tunes whose repeats an editor wrote down, and on textbook examples.

Sources: Ryan's Mammoth Collection (1883), public-domain tunes read from the installed music21 package, whose
repeat signs say what is played twice. Suffix array of "banana" and of "mississippi", longest common prefixes of
"banana": worked examples of every textbook on the subject, from memory. Maximal repeats of
"xabcyiiizabcqabcyrxar": D. Gusfield, "Algorithms on Strings, Trees, and Sequences", 1997, section 7.12, from
memory.
"""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from itertools import pairwise
from pathlib import Path
from statistics import mean, quantiles

import pytest

from reedpath.arrange import Route
from reedpath.lesson import LessonPart, parts_of
from reedpath.lesson.held_in_mind import thing_ends, things_between
from reedpath.lesson.parts import LONG_BARS
from reedpath.lesson.repeats import _common_prefixes, maximal_repeats, suffix_order, tokens_of
from reedpath.phrase import Phrase, bars
from reedpath.readers import read_phrase
from support.routes import fitting_route

pytestmark = pytest.mark.outside

# every so many-th tune of the book: some fifty tunes, in about two seconds
STRIDE = 16
# notes of a bar, on average, from which a tune runs in eighths
MANY_NOTES = 6.5
# tunes looked at while the costs of cutting were chosen, held out here
SEEN = {
    "42dHighlandRegimentStrathspey",
    "BanjoReel",
    "BlanchardsHornpipe",
    "BrokenSixpenceReel",
    "CelebratedStopHornpipe",
    "CorporalCaseysFancyReel",
    "DickieRogersPedestalClog",
    "EveryBodysHornpipe",
    "FlowersOfMichiganReel",
    "GrandSpyReel",
}


@cache
def tunes() -> tuple[tuple[Phrase, Route, tuple[LessonPart, ...]], ...]:
    import music21

    folder = Path(music21.__file__).parent / "corpus" / "ryansMammoth"
    found = []
    for path in sorted(one for one in folder.glob("*.abc") if one.stem not in SEEN)[::STRIDE]:
        phrase = read_phrase(path.read_bytes(), format="abc")
        graces = any(event.ornaments.graces for event in phrase.events)
        route = None if graces else fitting_route(phrase)
        if route is not None and phrase.repeats:
            found.append((phrase, route, parts_of(route)))
    return tuple(found)


def second_playings(phrase: Phrase) -> set[int]:
    """Indexes, in the performed phrase, of the events that a repeat sign has played before."""
    again: set[int] = set()
    at, reached = 0, 0
    onsets = [event.onset for event in phrase.events]
    for repeat in sorted(phrase.repeats, key=lambda one: one.onset):
        at += sum(reached <= onset < repeat.end for onset in onsets)
        size = sum(repeat.onset <= onset < repeat.end for onset in onsets)
        again.update(range(at, at + size * (repeat.times - 1)))
        at, reached = at + size * (repeat.times - 1), repeat.end
    return again


def told_again(parts: tuple[LessonPart, ...]) -> set[int]:
    """Indexes of the events that the parts say to be those of an earlier part."""
    told: set[int] = set()
    for part in parts:
        told.update(range(part.first, part.first + part.shared if part.same_as is None else part.last + 1))
    return told


def test_what_a_repeat_sign_plays_again_is_found_to_come_again() -> None:
    shares = []
    for phrase, _, parts in tunes():
        again = second_playings(phrase)
        shares.append(len(again & told_again(parts)) / len(again))
    assert len(shares) >= 30
    assert mean(shares) >= 0.95


def test_parts_begin_at_a_bar_line_or_where_the_pickup_would() -> None:
    places = []
    for _, route, parts in tunes():
        lines = {bar.onset for bar in bars(route.phrase)}
        pickups = {bar.end - route.phrase.pickup for bar in bars(route.phrase)}
        places += [route.events[part.first].event.onset in lines | pickups for part in parts[1:]]
    assert mean(places) >= 0.85


def test_parts_are_of_a_size_to_be_taught() -> None:
    sizes = [part.last - part.first + 1 for _, _, parts in tunes() for part in parts]
    twentieths = quantiles(sizes, n=20)
    assert twentieths[0] >= 4
    assert twentieths[-1] <= 16
    # what is held in mind of them: a run or a figure that is known is one thing
    held = []
    for _, route, parts in tunes():
        ends = thing_ends(route, tokens_of(route.events))
        held += [things_between(ends, part.first, part.last + 1) for part in parts]
    assert quantiles(held, n=20)[-1] <= 12


def test_running_eighths_are_taught_two_bars_at_a_time() -> None:
    """What is taught at a time of a tune of eight notes to a bar is two bars of it (common practice, no source)."""
    short = []
    for _, route, parts in tunes():
        measures = bars(route.phrase)
        if len(measures) <= LONG_BARS or len(route.events) < MANY_NOTES * len(measures):
            continue
        onsets = [route.events[part.first].event.onset for part in parts]
        lengths = [end - onset for onset, end in pairwise([*onsets, route.phrase.end])]
        short += [length <= Fraction(5, 4) * measures[1].metre.bar for length in lengths]
    assert len(short) >= 100
    assert mean(short) < 0.25


def letters(text: str) -> list[int]:
    return [ord(letter) for letter in text]


def test_textbook_suffix_arrays() -> None:
    assert suffix_order(letters("banana")) == [5, 3, 1, 0, 4, 2]
    assert suffix_order(letters("mississippi")) == [10, 7, 4, 1, 0, 9, 8, 6, 3, 5, 2]
    assert _common_prefixes(letters("banana"), [5, 3, 1, 0, 4, 2]) == [0, 1, 3, 0, 0, 2]


def test_textbook_maximal_repeats() -> None:
    text = "xabcyiiizabcqabcyrxar"
    # letters as notes, one silence between all of them
    tokens = [number for letter in letters(text) for number in (2 * letter, 1)][:-1]
    found = {text[one.starts[0] : one.starts[0] + one.length] for one in maximal_repeats(tokens, least=3)}
    assert found == {"abc", "abcy"}

"""Real tunes through the score and back.

Sources: the tunes of Ryan's Mammoth Collection (1883), O'Neill's Music of Ireland (1850 tunes) and Aird's Airs
in music21's corpus, public-domain tunes read from the installed package; the MusicXML 4.0 schema of the W3C
(2021), shipped by the PyPI package ``musicxml``; music21 as the independent reader of what we write.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction as F
from functools import cache
from pathlib import Path

import pytest
from music21 import converter, corpus
from music21.stream import Stream

from reedpath.arrange import Route, all_harps, survey
from reedpath.harp import Harp, load_tuning
from reedpath.lesson import make_lesson
from reedpath.page import encode_musicxml
from reedpath.page.score.sheet import Sheet, sheet_of
from reedpath.phrase import Phrase, performed
from reedpath.readers import read_phrase
from support.music21_parts import ties_joined
from support.musicxml_schema import assert_valid

pytestmark = pytest.mark.outside

# tunes of each collection that are tried, spread over all of it
TUNES = {"ryansMammoth": 60, "oneills1850": 40, "airdsAirs": 40}

Sounded = tuple[F, F, tuple[int, ...]]


@cache
def harps() -> tuple[Harp, ...]:
    return all_harps([load_tuning("standard")])


def best_route(phrase: Phrase) -> Route:
    """What the search finds on the best of the twelve harps, as a user has it."""
    return survey(phrase, harps(), top=1).ranked[0].route()


@cache
def paths(collection: str) -> tuple[Path, ...]:
    return tuple(sorted(path for path in corpus.getPaths() if collection in str(path)))


def tunes(path: Path) -> Iterator[bytes]:
    """The tunes of a file of ABC, each as a file of its own."""
    text = path.read_text(encoding="utf-8", errors="replace")
    parts = text.split("\nX:")
    for index, part in enumerate(parts):
        tune = part if index == 0 else f"X:{part}"
        if "K:" in tune:
            yield tune.encode()


def spread(found: list[bytes], count: int) -> list[bytes]:
    step = max(1, len(found) // count)
    return found[::step][:count]


def phrases(collection: str) -> Iterator[tuple[str, Phrase]]:
    found = [tune for path in paths(collection) for tune in tunes(path)]
    for number, tune in enumerate(spread(found, TUNES[collection])):
        yield f"{collection} {number}", read_phrase(tune, format="abc")


@cache
def arranged(collection: str) -> tuple[tuple[str, Phrase, Route], ...]:
    """The tunes of a collection, each with the best route for it."""
    return tuple((name, phrase, best_route(phrase)) for name, phrase in phrases(collection))


def exact(value: object) -> F:
    return F(value).limit_denominator(7680)  # type: ignore[arg-type]


def read_back(musicxml: bytes) -> tuple[list[Sounded], list[int]]:
    """Main notes with ties joined, and grace notes, as music21 reads them."""
    score = converter.parseData(musicxml.decode(), format="musicxml")
    part: Stream = ties_joined(score.parts[0]).flatten()
    main, graces = [], []
    for one in part.notes:
        midi = tuple(sorted({pitch.midi for pitch in one.pitches}))
        if one.duration.isGrace:
            graces.append(midi[0])
        else:
            main.append((exact(one.offset), exact(one.duration.quarterLength), midi))
    return main, graces


def expected(route: Route, sheet: Sheet) -> tuple[list[Sounded], list[int]]:
    main = [(note.onset, note.end - note.onset, note.midi) for note in sheet.notes]
    graces = [route.sounding_midi(index)[0] for note in sheet.notes for index in note.graces]
    return main, graces


def test_repeat_signs_play_back_to_the_same_notes() -> None:
    """What is folded between repeat signs unfolds, in music21, to what was played."""
    folded = 0
    for name, _, route in arranged("oneills1850"):
        lesson = make_lesson(route)
        musicxml = encode_musicxml(lesson, fold_repeats=True)
        assert_valid(musicxml)
        score = converter.parseData(musicxml.decode(), format="musicxml")
        folded += musicxml.count(b"<repeat ") > 0
        part = ties_joined(score.parts[0].expandRepeats()).flatten()
        found = [
            tuple(sorted({pitch.midi for pitch in one.pitches})) for one in part.notes if not one.duration.isGrace
        ]
        assert found == [note.midi for note in sheet_of(lesson).notes], name
    assert folded >= 3


@pytest.mark.parametrize("collection", sorted(TUNES))
def test_tunes_come_back_note_for_note(collection: str) -> None:
    tried = inexact = 0
    for name, phrase, route in arranged(collection):
        musicxml, sheet = encode_musicxml(route), sheet_of(route)
        assert_valid(musicxml)
        main, graces = read_back(musicxml)
        assert (main, graces) == expected(route, sheet), name
        if route.truth == 1 and not graces:
            # what came out is what went in, note for note, moved by the shift
            assert [midi for *_, midi in main] == [
                event.moved(route.shift_semitones).midi for event in performed(phrase).events
            ], name
        inexact += sum(not note.is_exact for note in sheet.notes)
        tried += 1
    assert tried >= TUNES[collection] * 0.8
    assert inexact <= tried // 10

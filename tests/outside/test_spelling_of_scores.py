"""How notes are spelt, held to scores that people wrote, also where they are moved to another key.

Sources: chorales of J. S. Bach and tunes of Ryan's Mammoth Collection (public domain), read from the installed
music21 package (its corpus); music21 says how their notes are written, and how they are after it has transposed them
by an interval. The chorales are spelt as their keys have it; half of these tunes are not everywhere.
"""

from collections.abc import Iterator
from typing import Any

import pytest
from music21 import converter, corpus

from reedpath.arrange import all_harps, survey
from reedpath.harp import load_tuning, make_harp
from reedpath.page import encode_musicxml
from reedpath.phrase import Phrase, note_fifths
from reedpath.pitch import key_fifths, letter_and_sign
from reedpath.readers import read_phrase

pytestmark = pytest.mark.outside

CHORALES = ("bwv66.6", "bwv244.46", "bwv7.7", "bwv26.6", "bwv324")
# semitones that a phrase moves by: the interval's name, and how many sharps more its signature has
MOVES = {12: ("P8", 0), 2: ("M2", 2), -3: ("m-3", 3), 5: ("P4", -1)}


def sopranos() -> Iterator[tuple[Any, Phrase]]:
    for name in CHORALES:
        part = corpus.parse(f"bach/{name}").parts[0]
        path = part.write("musicxml")
        yield part, read_phrase(path.read_bytes(), format="musicxml")


def names_of(part: Any) -> list[str]:
    """The notes of a part as music21 names them, ties joined: C, F#, B-."""
    return [note.pitch.name for note in part.flatten().stripTies().notes]


def spelling_of(fifths: int) -> str:
    letter, sign = letter_and_sign(fifths)
    return letter + ("#" * sign if sign > 0 else "-" * -sign)


def spelt(phrase: Phrase) -> list[str]:
    """The notes of a phrase in the names of music21."""
    return [
        spelling_of(note_fifths(event.midi[0], phrase.key, goes_up=False, written=event.fifths))
        for event in phrase.events
    ]


def test_notes_keep_the_spelling_of_the_score_in_every_key() -> None:
    signed = moves = 0
    for part, phrase in sopranos():
        assert spelt(phrase) == names_of(part)
        signed += sum(len(name) > 1 for name in names_of(part))
        for semitones, (interval, sharps) in MOVES.items():
            moved = phrase.moved(semitones)
            if key_fifths(moved.key) != key_fifths(phrase.key) + sharps:
                continue  # we write D flat for C sharp
            moves += 1
            for ours, theirs in zip(spelt(moved), names_of(part.transpose(interval)), strict=True):
                assert ours == theirs or len(theirs) > 2, (semitones, ours, theirs)
    assert signed > 40
    assert moves > 15


def test_what_a_key_would_spell_otherwise_stays_as_it_was_written() -> None:
    otherwise = 0
    files = sorted(path for path in corpus.getPaths() if "ryansMammoth" in str(path))
    tunes = [text for path in files if "^" in (text := path.read_text(encoding="utf-8", errors="replace"))]
    for tune in tunes[::24]:
        phrase = read_phrase(tune.encode(), format="abc")
        notes = converter.parseData(tune, format="abc").flatten().stripTies().notes
        judged = [one.pitches[-1] for one in notes if not one.duration.isGrace]
        if [pitch.midi for pitch in judged] != [event.midi[-1] for event in phrase.events]:
            continue  # signs that music21 reads otherwise than the standard: see test_readers_abc_corpus.py
        for pitch, event in zip(judged, phrase.events, strict=True):
            by_key = {note_fifths(pitch.midi, phrase.key, goes_up=up) for up in (True, False)}
            otherwise += pitch.name not in map(spelling_of, by_key)
            assert spelling_of(note_fifths(pitch.midi, phrase.key, goes_up=False, written=event.fifths)) == pitch.name
    assert otherwise > 3


def test_the_score_that_is_made_spells_as_the_source_does() -> None:
    harps = all_harps([load_tuning("standard")])
    for part, phrase in list(sopranos())[:2]:
        route = survey(phrase, harps, top=1).ranked[0].route()
        assert route.shift_semitones % 12 == 0
        made = names_of(converter.parseData(encode_musicxml(route).decode(), format="musicxml").parts[0])
        changed = {index for index, _ in route.changes}
        kept = [index for index in range(len(made)) if index not in changed]
        assert [made[index] for index in kept] == [names_of(part)[index] for index in kept]
        assert len(kept) > len(made) // 2


def test_tunes_in_the_other_modes_keep_their_signature() -> None:
    """Ryan's tunes in mixolydian and dorian, against the signature that music21 reads off their own K: field."""
    met = set()
    for path in sorted(path for path in corpus.getPaths() if "ryansMammoth" in str(path)):
        text = path.read_text(encoding="utf-8", errors="replace")
        field = next((line for line in text.splitlines() if line.startswith("K:")), "")
        if not field[2:].strip()[1:].lower().startswith(("mix", "dor")):
            continue
        phrase = read_phrase(text.encode(), format="abc")
        signature = next(iter(converter.parseData(text, format="abc").recurse().getElementsByClass("KeySignature")))
        assert key_fifths(phrase.key) == signature.sharps
        route = survey(phrase, [make_harp("D")], top=1).ranked[0].route()
        assert f"<mode>{phrase.key.moved(route.shift_semitones).mode}</mode>".encode() in encode_musicxml(route)
        met.add(phrase.key.mode)
        if len(met) == 2:
            break
    assert met == {"mixolydian", "dorian"}

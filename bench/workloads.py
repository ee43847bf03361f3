"""What is measured: melodies that nobody here wrote, read from music21's installed corpus.

Ryan's Mammoth Collection (public domain), the encoding that music21 ships; the phrase of the survey is the first
tunes of it, one after another, cut at 200 notes.
"""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from pathlib import Path

from msgspec.structs import replace

from reedpath.phrase import Phrase, Tempo, lead_line, performed
from reedpath.pitch import Key
from reedpath.readers import read_phrase

SURVEY_NOTES = 200
CORPUS_TUNES = 1000


def corpus_files() -> list[Path]:
    """The files of the collection, in order of name."""
    from music21 import corpus

    return sorted(Path(str(path)) for path in corpus.getComposer("ryansMammoth"))


@cache
def corpus_phrases(count: int) -> tuple[Phrase, ...]:
    """The first so many tunes as performed single lines; those that no reader takes are passed over."""
    from reedpath.errors import ReedpathError

    phrases: list[Phrase] = []
    for path in corpus_files():
        if len(phrases) == count:
            break
        try:
            phrase = read_phrase(path.read_bytes(), name=path.name, format="abc")
        except ReedpathError:
            continue
        if phrase.events:
            phrases.append(performed(lead_line(phrase)))
    return tuple(phrases)


@cache
def survey_phrase() -> Phrase:
    """200 notes of real tunes, at 100 quarter notes a minute."""
    events, onset = [], Fraction(0)
    for phrase in corpus_phrases(6):
        for event in phrase.events:
            events.append(replace(event, onset=onset + event.onset, ornaments=type(event.ornaments)()))
        onset += phrase.end
    key = next((phrase.key for phrase in corpus_phrases(6) if phrase.key), Key(7))
    return Phrase(tuple(events[:SURVEY_NOTES]), key=key, tempos=(Tempo(Fraction(0), 100.0),))

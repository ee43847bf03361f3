"""MusicXML held to music21's own reading of whole scores, and to its unfolding of repeats.

Scores: music21's corpus (public domain: chorales of Bach, madrigals, quartets, piano pieces), read from the
installed package. The whole score is parsed by music21, made to sound and its ties joined, and compared note for
note with the phrase.
"""

import contextlib
import glob
import importlib.util
import io
import os
import random
from fractions import Fraction

import pytest
from msgspec.structs import replace

from reedpath.phrase import performed
from reedpath.readers import read_phrase
from reedpath.readers.building import Heading, build_phrase
from reedpath.readers.limits import DEFAULT_LIMITS
from reedpath.readers.musicxml.measures import Selection, read_measures
from reedpath.readers.musicxml.safe_parsing import parse_xml, unpack_score
from reedpath.readers.musicxml.score_parts import choose_part, score_parts
from reedpath.readers.omissions import Omissions

pytestmark = pytest.mark.outside

CORPUS = os.path.join(os.path.dirname(importlib.util.find_spec("music21").origin), "corpus")
# scores that are compared; with REEDPATH_ALL_TUNES set, all that the corpus has
SAMPLE = 30
# where music21's stripTies leaves a tie through chords or trills, or a direction lengthens its bar
MUSIC21_DIFFERS = {
    "schoenberg/opus19/movement6.mxl",
    "beethoven/opus59no3/movement1.mxl",
    "schumann_clara/polonaise_op1n3.mxl",
    "beethoven/opus133.mxl",
}
REPEATED = (
    "bach/bwv299.mxl",
    "bach/bwv315.mxl",
    "haydn/opus1no1/movement2.mxl",
    "mozart/k155/movement2.mxl",
    "mozart/k156/movement1.mxl",
    "mozart/k156/movement3.mxl",
    "verdi/laDonnaEMobile.mxl",
)


def sample() -> list[str]:
    found = sorted(glob.glob(os.path.join(CORPUS, "**", "*.mxl"), recursive=True))
    names = [os.path.relpath(path, CORPUS) for path in found]
    if os.environ.get("REEDPATH_ALL_TUNES"):
        return names
    return random.Random(3).sample(names, SAMPLE)


def content(name: str) -> bytes:
    with open(os.path.join(CORPUS, name), "rb") as file:
        return file.read()


def as_written(data: bytes) -> tuple[set[tuple[Fraction, Fraction, int]], str]:
    """Notes of the first pitched part in the order of the page, and the part's identity."""
    omissions = Omissions()
    root = parse_xml(unpack_score(data, limits=DEFAULT_LIMITS), limits=DEFAULT_LIMITS)
    part = choose_part(score_parts(root), None, omissions)
    bars = read_measures(part, Selection(), limits=DEFAULT_LIMITS, omissions=omissions).bars
    phrase = build_phrase(bars, Heading(), limits=DEFAULT_LIMITS, omissions=omissions, order=range(len(bars)))
    return {(event.onset, event.duration, midi) for event in phrase.events for midi in event.midi}, part.identity


def parts_by_music21(name: str, identity: str):
    from music21 import converter

    with contextlib.redirect_stderr(io.StringIO()):
        score = converter.parse(os.path.join(CORPUS, name), forceSource=True)
    return [part for part in score.parts if identity in part.groups or str(part.id).startswith(f"{identity}-Staff")]


def notes_of(part) -> set[tuple[Fraction, Fraction, int]]:
    return {
        (
            Fraction(note.getOffsetInHierarchy(part)).limit_denominator(65_535),
            Fraction(note.quarterLength).limit_denominator(65_535),
            round(pitch.ps),
        )
        for note in part.recurse().notes
        if note.quarterLength > 0 and "Harmony" not in note.classes
        for pitch in note.pitches
    }


def test_notes_as_written_agree_with_music21(record_property):
    compared = 0
    for name in sample():
        if name in MUSIC21_DIFFERS:
            continue
        ours, identity = as_written(content(name))
        theirs = {
            note for part in parts_by_music21(name, identity) for note in notes_of(part.toSoundingPitch().stripTies())
        }
        assert ours == theirs, (name, sorted(ours ^ theirs)[:5])
        compared += len(ours)
    record_property("notes", compared)
    assert compared > 2_000


@pytest.mark.parametrize("name", REPEATED)
def test_repeats_are_played_as_music21_unfolds_them(name):
    data = content(name)
    _, identity = as_written(data)
    phrase = read_phrase(data, format="musicxml")
    bare = [replace(event, ornaments=replace(event.ornaments, graces=())) for event in phrase.events]
    played = performed(replace(phrase, events=tuple(bare)))
    assert played.end > phrase.end or not phrase.repeats
    ours = {(event.onset, midi) for event in played.events for midi in event.midi}
    theirs = set()
    for part in parts_by_music21(name, identity):
        with contextlib.redirect_stderr(io.StringIO()):
            unfolded = part.toSoundingPitch().expandRepeats().stripTies()
        theirs |= {(onset, midi) for onset, _, midi in notes_of(unfolded)}
    assert ours == theirs

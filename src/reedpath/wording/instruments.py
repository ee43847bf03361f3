"""Harps, keys, positions and the arranger's names in words."""

from __future__ import annotations

import re

from reedpath.harp import Harp, Temperament, Tuning, load_temperament, load_tuning
from reedpath.pitch import Key
from reedpath.wording.catalogue import Catalogue

# the usual cautions, the weightiest first; keys of the catalogues under "caution"
CAUTIONS = ("dizzy", "lungs", "ears", "sharing", "pain", "reeds", "law")

# pitch class of B flat, and a B alone, which no sign and no word says to be another note
_B_FLAT = 10
_LONE_B = re.compile(r"\b[Bb](?![\w♭#♯]|[\s-]+(?i:flat|sharp|bémol|dièse|dur|moll|maj|min)|\s*\()")


def plain_names(text: str, catalogue: Catalogue) -> str:
    """
    Names of notes, keys and harps as the person typed them, as `pitch` reads them: B is Bb where B flat is called B.

    >>> from reedpath.wording import load_catalogue
    >>> plain_names("A, B", load_catalogue("en"))
    'A, B'
    """
    return _LONE_B.sub(lambda match: f"{match[0]}b", text) if catalogue.notes.major[_B_FLAT] == "B" else text


def typed_names(text: str, catalogue: Catalogue) -> str:
    """Names as the trade writes them, in a field where the person types them: H for a B that she would read as Bb."""
    return _LONE_B.sub("H", text) if catalogue.notes.major[_B_FLAT] == "B" else text


def tuning_words(tuning: Tuning, catalogue: Catalogue) -> str:
    """Title of a tuning: the catalogue's for a shipped one, else the one its file gives."""
    key = f"tuning.{tuning.name}"
    shipped = catalogue.has(key) and tuning == load_tuning(tuning.name)
    return catalogue.say(key) if shipped else tuning.title


def temperament_words(temperament: Temperament, catalogue: Catalogue) -> str:
    """Title of a temperament: the catalogue's for a shipped one, else the one its file gives, else its name."""
    key = f"temperament.{temperament.name}"
    shipped = catalogue.has(key) and temperament == load_temperament(temperament.name)
    return catalogue.say(key) if shipped else temperament.title or temperament.name


def harp_words(harp: Harp, catalogue: Catalogue, *, with_tuning: bool = False) -> str:
    """A harp by its key: "A harp", "Low F harp"; with its tuning when asked."""
    note = catalogue.notes.harp[harp.key_midi % 12]
    named = {0: "named", -1: "low", 1: "high"}
    if harp.octaves in named:
        words = catalogue.say(f"harp.{named[harp.octaves]}", note=note)
    else:
        key = "harp.octaves_lower" if harp.octaves < 0 else "harp.octaves_higher"
        words = catalogue.say(key, note=note, count=abs(harp.octaves))
    if not with_tuning:
        return words
    return catalogue.say("harp.with_tuning", harp=words, tuning=tuning_words(harp.tuning, catalogue))


def full_harp_words(harp: Harp, catalogue: Catalogue) -> str:
    """A harp by its key, and its tuning where that is not the usual one."""
    return harp_words(harp, catalogue, with_tuning=harp.tuning.name != "standard")


def key_words(key: Key | None, catalogue: Catalogue) -> str:
    """A key of music: "E major", "mi mineur"."""
    if key is None:
        return catalogue.say("key.unknown")
    names = catalogue.notes.minor if key.third == "minor" else catalogue.notes.major
    return catalogue.say(f"key.{key.mode}", note=names[key.tonic])


def position_words(position: int, catalogue: Catalogue) -> str:
    """A position in words: "second position"."""
    return catalogue.ordinal_words("position", position)


def shift_words(semitones: int, catalogue: Catalogue) -> str:
    """How far a phrase was moved: "an octave down", "3 half steps up", "as written"."""
    if semitones == 0:
        return catalogue.say("shift.none")
    way = "up" if semitones > 0 else "down"
    if semitones % 12 == 0:
        return catalogue.say(f"shift.octaves_{way}", count=abs(semitones) // 12)
    return catalogue.say(f"shift.{way}", count=abs(semitones))


def named_words(kind: str, name: str, catalogue: Catalogue) -> str:
    """The words of a named thing ("term", "level", "change", "rung", "embouchure", ...), or its bare name where
    the catalogue has none, as for a user's own.
    """
    key = f"{kind}.{name}"
    return catalogue.say(key) if catalogue.has(key) else name

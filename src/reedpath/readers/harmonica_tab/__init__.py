"""Harmonica tab: holes and breaths as people type them, in signs, letters, arrows or brackets.

The notation is told by its looks or named; the harp by its key and tuning. What is read, and how lengths may
be typed, is written down in docs/sources-tab.md. There is no standard.

Options: ``harp``, ``tuning``, ``notation``, ``german_names``.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TypedDict, Unpack

from reedpath.errors import ReadError
from reedpath.harp import Harp, Move, Notation, guess_notation, tokenize_tab
from reedpath.phrase import Phrase
from reedpath.readers.building import Heading, build_phrase
from reedpath.readers.decoding import looks_like_text
from reedpath.readers.harmonica_tab.counted import counted_bars, counted_heading, first_tab, is_counted, row_texts
from reedpath.readers.harmonica_tab.harp_and_notation import (
    choose_harp,
    choose_notation,
    choose_tuning,
    key_of,
)
from reedpath.readers.harmonica_tab.lines import Slot, SlotKind, TypedLine, lay_out, slots_of
from reedpath.readers.harmonica_tab.moments import counted_slots
from reedpath.readers.harmonica_tab.rhythm import bars_of
from reedpath.readers.limits import Limits
from reedpath.readers.omissions import Omissions
from reedpath.readers.registry import Option, Reader
from reedpath.readers.typed_tab.heading import TypedHeading
from reedpath.readers.typed_tab.text import plain_characters, typed_lines, yes_or_no_option

__all__ = [
    "READER",
    "TypedMoves",
    "read_harmonica_tab",
    "sniff_harmonica_tab",
    "typed_moves",
]

# bytes, lines and columns that are looked at to tell the format
_BYTES, _LINES, _COLUMNS = 16_384, 200, 400
# moves under which a text is not claimed
_ENOUGH_MOVES = 4
# certainty that the heading names a harp, and that every piece is a move of a likely notation; ours
_NAMED, _ALL_MOVES = 0.3, 0.75
# characters of a note with what parts it from the next, so that a bound on notes bounds the text; ours
_CHARACTERS_PER_NOTE = 5


def _words_beside(lines: Sequence[str], apart: Collection[int]) -> int:
    """Pieces of the lines that are neither apart (numbers from 1) nor lengths."""
    return sum(
        len(text.split())
        for number, text in enumerate(lines, start=1)
        if number not in apart and not set(text) <= set(" |.whqestWHQES")
    )


def _lay_out_what_can_be(lines: list[str]) -> tuple[TypedHeading, list[TypedLine], list[tuple[int, str]]]:
    """The lines laid out, those of a heading that means nothing passed over: it is for the reader to say so."""
    try:
        return lay_out(lines, Omissions())
    except ReadError as error:
        number = error.where.line
        if not number or not lines[number - 1]:
            raise
        return _lay_out_what_can_be([*lines[: number - 1], "", *lines[number:]])


def sniff_harmonica_tab(data: bytes) -> float:
    """How sure it is that a source is harmonica tab, 0 to 1: by the share of its pieces that are moves."""
    if not looks_like_text(data):
        return 0.0
    text = data[:_BYTES].decode("utf-8", errors="replace")
    lines = [plain_characters(line[:_COLUMNS]) for line in text.splitlines()[:_LINES]]
    if is_counted(lines):
        return 1.0
    heading, typed, parts = _lay_out_what_can_be(lines)
    named = _NAMED if "harp" in heading.texts else 0.0
    guesses = guess_notation("\n".join(line.text for line in typed))
    if not guesses:
        return named
    moves = sum(1 for line in typed for token in tokenize_tab(line.text, guesses[0].name) if token.move)
    if moves < _ENOUGH_MOVES:
        return named
    words = _words_beside(lines, {*heading.lines.values(), *(number for number, _ in parts)})
    share = min(1.0, moves / max(1, words))
    return min(1.0, named + _ALL_MOVES * share * share)


class HarmonicaTabOptions(TypedDict, total=False):
    """What may be said of a tab beside what it says itself; what each chooses is told in `READER`."""

    harp: Option | None
    tuning: Option | None
    notation: Option | None
    german_names: Option | None


@dataclass(frozen=True, slots=True)
class _TypedTab:
    """A tab before its rhythm is told."""

    heading: TypedHeading
    notation: Notation
    harp: Harp
    slots: Sequence[Slot]


def _typed(data: bytes, limits: Limits, omissions: Omissions, options: HarmonicaTabOptions) -> _TypedTab:
    german = yes_or_no_option(options.get("german_names"), name="german_names")
    names = None if german is None else "German" if german else "English"
    whole = typed_lines(data, limits=limits)
    counted = is_counted(whole)
    lines: list[TypedLine] = []
    parts: list[tuple[int, str]] = []
    if counted:
        whole = first_tab(whole, omissions)
        heading, texts = counted_heading(whole, omissions), row_texts(whole)
    else:
        heading, lines, parts = lay_out(whole, omissions)
        texts = [line.text for line in lines]
    heading = heading.with_options(
        harp=options.get("harp"),
        tuning=options.get("tuning"),
        notation=options.get("notation"),
        names=names,
    )
    limits.check("events", sum(map(len, texts)) // _CHARACTERS_PER_NOTE, what="notes-by-length-of-text")
    reeds = choose_tuning(heading)
    chosen = choose_notation(texts, heading, tuning=reeds)
    if chosen is None:
        raise ReadError("tab.no_harmonica_tab")
    instrument = choose_harp(heading, tuning=reeds, notation=chosen, omissions=omissions)
    if counted:
        slots = counted_slots(counted_bars(whole, heading), chosen, instrument)
    else:
        slots = slots_of(lines, parts, chosen, reeds, omissions)
    if not slots:
        raise ReadError("tab.no_harmonica_tab")
    limits.check("events", sum(slot.kind is not SlotKind.BAR for slot in slots), what="notes-and-rests")
    return _TypedTab(heading, chosen, instrument, slots)


def read_harmonica_tab(data: bytes, /, *, limits: Limits, **options: Unpack[HarmonicaTabOptions]) -> Phrase:
    """
    The phrase of a harmonica tab, at the pitches of its harp; see the module for the options.

    Raises `ReadError`, naming line and column of what cannot be read, and what the harp can play where a move is none
    of its.
    """
    omissions = Omissions()
    typed = _typed(data, limits, omissions, options)
    heading = typed.heading
    bars = bars_of(typed.slots, typed.harp, heading, omissions)
    whole = Heading(heading.title, key_of(heading, typed.notation), heading.swing or Fraction(1))
    return build_phrase(bars, whole, limits=limits, omissions=omissions)


@dataclass(frozen=True, slots=True)
class TypedMoves:
    """What a tab says beside its notes.

    harp : the harp that it is typed for.
    notation : name of the notation that it is typed in.
    moves : the move of each note, by the line and column that are the note's place.
    """

    harp: Harp
    notation: str
    moves: Mapping[tuple[int, int], Move]


def typed_moves(data: bytes, /, *, limits: Limits, **options: Unpack[HarmonicaTabOptions]) -> TypedMoves:
    """The harp and the moves of a harmonica tab; options and errors are those of `read_harmonica_tab`."""
    typed = _typed(data, limits, Omissions(), options)
    moves = {(slot.place.line or 0, slot.place.column or 0): slot.move for slot in typed.slots if slot.move}
    return TypedMoves(typed.harp, typed.notation.name, moves)


READER = Reader(
    name="harmonica-tab",
    title="harmonica tab",
    suffixes=(".harp", ".txt", ".tab"),
    sniff=sniff_harmonica_tab,
    read=read_harmonica_tab,
    options={
        "harp": "key of the harp the tab is for, such as A, Bb or Low F",
        "tuning": "tuning of that harp",
        "notation": "notation the tab is typed in; told by its looks otherwise",
        "german_names": "yes when B means B flat and H means B natural",
    },
)

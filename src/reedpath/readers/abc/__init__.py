"""ABC: tunes in the text notation of the ABC standard 2.1 (December 2011, abcnotation.com/wiki/abc:standard:v2.1).

Options: ``tune`` (the X: number, the first tune otherwise; "5-2" is the second of those numbered 5, "-1" the first
that has no number), ``part`` (a voice: its identity or name).
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence

from reedpath.errors import NOWHERE, Place, ReadError, Term
from reedpath.phrase import Phrase
from reedpath.pitch import Key
from reedpath.readers.abc.tune import TuneReading, read_tune
from reedpath.readers.abc.tunebook import Tune, Tunebook, parse_tunebook
from reedpath.readers.abc.voices import Voice
from reedpath.readers.bars import WrittenBar
from reedpath.readers.building import Heading, build_phrase
from reedpath.readers.decoding import decode_text, looks_like_text, split_lines
from reedpath.readers.limits import Limits
from reedpath.readers.omissions import Omissions
from reedpath.readers.playing_order import playing_order
from reedpath.readers.registry import Option, Reader

__all__ = ["READER", "read_abc", "sniff_abc", "tune_names"]

# numbers of a list that is told; ours
_MOST_LISTED = 10


def sniff_abc(data: bytes) -> float:
    """How sure it is that a source is ABC, 0 to 1: by %abc, or by X: and K: lines."""
    if not looks_like_text(data):
        return 0.0
    head = decode_text(data[: 65536 - 65536 % 4])
    if re.match(r"\s*%abc", head):
        return 1.0
    has_number = re.search(r"^X:\s*\d*", head, re.MULTILINE)
    has_key = re.search(r"^K:", head, re.MULTILINE)
    if has_number and has_key:
        return 0.95
    return 0.5 if has_key and re.search(r"^[TMLQ]:", head, re.MULTILINE) else 0.0


def _numbered(tune: Option | None) -> tuple[int | None, int] | None:
    """The number of a chosen tune, None for one without, and which of that number it is, from 1."""
    if tune is None:
        return None
    match = re.fullmatch(r"(?P<number>\d{1,9})?(?:-(?P<which>[1-9]\d{0,8}))?", str(tune).strip())
    if match is None or not match[0]:
        raise ReadError("readers.no_tune_number", number=str(tune))
    return int(match["number"]) if match["number"] else None, int(match["which"] or 1)


def _names_of(tunes: Sequence[Tune]) -> list[int | str]:
    """By what each tune of a book is chosen: its number; of a number that comes again, and of none, which it is."""
    seen: Counter[int | None] = Counter()
    names: list[int | str] = []
    for tune in tunes:
        seen[tune.reference] += 1
        which, number = seen[tune.reference], tune.reference
        names.append(f"-{which}" if number is None else number if which == 1 else f"{number}-{which}")
    return names


def _span_of(tunes: Sequence[Tune]) -> Place:
    """The place of a row of tunes, by the numbers of the first and the last; nowhere if one has none."""
    first, last = tunes[0].reference, tunes[-1].reference
    if first is None or last is None:
        return NOWHERE
    return Place(tune=first, last_tune=None if last == first else last)


def tune_names(data: bytes, *, limits: Limits) -> tuple[int | str, ...]:
    """By what the tunes of a source can be chosen, one for each, in order."""
    return tuple(_names_of(parse_tunebook(split_lines(decode_text(data), limits=limits)).tunes))


def _choose_tune(book: Tunebook, wanted: tuple[int | None, int] | None, omissions: Omissions) -> Tune:
    if not book.tunes:
        raise ReadError("readers.no_tune")
    chosen = book.tunes[0]
    if wanted is not None:
        number, which = wanted
        of_that_number = [tune for tune in book.tunes if tune.reference == number]
        if which > len(of_that_number):
            known = [str(name) for name in _names_of(book.tunes)]
            listed = known[:_MOST_LISTED] + ["…"] * (len(known) > _MOST_LISTED)
            again = f"-{which}" if number is None or which > 1 else ""
            raise ReadError(
                "readers.no_such_tune", number=f"{'' if number is None else number}{again}", there_are=listed
            )
        chosen = of_that_number[which - 1]
    if len(book.tunes) > 1:
        others = [tune for tune in book.tunes if tune is not chosen]
        omissions.note("other-tunes", _span_of(others), count=len(others))
    return chosen


def _note_count(voice: Voice) -> int:
    return sum(len(bar.notes) for bar in voice.book.bars)


def _choose_voice(reading: TuneReading, wanted: Option | None, omissions: Omissions) -> Voice | None:
    voices = list(reading.voices.values())
    if wanted is None:
        chosen = next((voice for voice in voices if _note_count(voice)), voices[0] if voices else None)
    else:
        chosen = next((voice for voice in voices if str(wanted) in (voice.name, voice.title)), None)
        if chosen is None:
            listed = [voice.name or Term("one-without-name") for voice in voices]
            raise ReadError("readers.no_voice", name=str(wanted), there_are=listed)
    for voice in voices:
        if voice is not chosen and _note_count(voice):
            name = voice.title or voice.name
            if name:
                omissions.note("voice", count=_note_count(voice), name=name)
            else:
                omissions.note("voice-without-name", count=_note_count(voice))
    return chosen


def _section_order(bars: Sequence[WrittenBar], *, times: int, limits: Limits) -> list[int]:
    """Bars of a part played ``times`` times: variant endings are chosen by the time (section 4.10)."""
    signs = [bar.signs for bar in bars]
    once = playing_order(signs, limits=limits)
    endings = max((max(each.endings, default=0) for each in signs), default=0)
    return once if endings == times > 1 else once * times


def _part_order(voice: Voice, order: Sequence[str], *, limits: Limits, omissions: Omissions) -> list[int] | None:
    """Indexes of the bars as the header's P: field has the parts played."""
    sections = voice.book.sections
    if not order or not sections:
        return None
    bars = voice.book.bars
    ends = [start for start, _ in sections[1:]] + [len(bars)]
    spans = {letter: (start, end) for (start, letter), end in zip(sections, ends, strict=True)}
    played = list(range(sections[0][0]))
    runs: list[tuple[str, int]] = []
    for letter in order:
        if runs and runs[-1][0] == letter:
            runs[-1] = (letter, runs[-1][1] + 1)
        else:
            runs.append((letter, 1))
    for letter, times in runs:
        if letter not in spans:
            omissions.note("part-not-written", letter=letter)
            continue
        start, end = spans[letter]
        played += [start + index for index in _section_order(bars[start:end], times=times, limits=limits)]
        limits.check("bars", len(played), what="bars-with-repeats")
    return played


def _sounding_key(reading: TuneReading, voice: Voice) -> Key | None:
    key = reading.key.key
    return key.moved(voice.shift) if key else None


def read_abc(data: bytes, /, *, limits: Limits, tune: Option | None = None, part: Option | None = None) -> Phrase:
    """The phrase of one tune of an ABC source, in one voice; see the module for the options.

    Raises `ReadError`, naming line and column of what cannot be read.
    """
    limits.check_size(data)
    omissions = Omissions()
    book = parse_tunebook(split_lines(decode_text(data), limits=limits))
    chosen = _choose_tune(book, _numbered(tune), omissions)
    reading = read_tune(book, chosen, limits=limits, omissions=omissions)
    voice = _choose_voice(reading, part, omissions)
    if voice is None:
        return Phrase((), title=chosen.title, left_out=omissions.left_out())
    heading = Heading(chosen.title, _sounding_key(reading, voice), reading.swing)
    order = _part_order(voice, reading.order, limits=limits, omissions=omissions)
    return build_phrase(voice.book.bars, heading, limits=limits, omissions=omissions, order=order)


READER = Reader(
    name="abc",
    title="ABC",
    suffixes=(".abc",),
    sniff=sniff_abc,
    read=read_abc,
    options={"tune": "number of the tune (X:)", "part": "identity or name of the voice (V:)"},
)

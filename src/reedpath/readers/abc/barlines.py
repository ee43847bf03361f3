"""Bar lines of an ABC voice: notes gathered into bars, repeats and endings marked (ABC 2.1, 4.8 to 4.10)."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from msgspec.structs import replace

from reedpath.errors import Place, ReadError
from reedpath.readers.bars import Note, OrderSigns, WrittenBar
from reedpath.readers.limits import Limits

# the highest number of an ending; ours
_MOST_ENDINGS = 64


def ending_numbers(text: str, place: Place) -> frozenset[int]:
    """Numbers of an ending sign: "1,3,5-7" (section 4.10)."""
    numbers: set[int] = set()
    for first, last in re.findall(r"(\d+)(?:-(\d+))?", text):
        if max(len(first), len(last)) > 2 or not 1 <= int(first) <= int(last or first) <= _MOST_ENDINGS:
            raise ReadError("readers.wrong_ending", where=place, number=text, most=_MOST_ENDINGS)
        numbers.update(range(int(first), int(last or first) + 1))
    return frozenset(numbers)


def _colons(signs: str) -> tuple[int, int]:
    """Colons before and after the line of a bar sign: how often more the sections are played (section 4.8)."""
    if "|" not in signs:
        return len(signs) // 2, len(signs) // 2
    before = re.search(r"(:+)\|", signs)
    after = re.search(r"\|[\[\]]*(:+)$", signs)
    return len(before[1]) if before else 0, len(after[1]) if after else 0


@dataclass(slots=True)
class BarBook:
    """The bars of one voice, while they are written.

    metre : in force; None for free metre.
    bars : finished ones.
    sections : for each part sign, the index of its first bar and its letter.
    at, width : beats from the start of the bar to the cursor, and to the end of what it holds.
    notes : of the bar.
    line : of the source, where the reader is.
    """

    metre: tuple[int, int] | None
    limits: Limits
    bars: list[WrittenBar] = field(default_factory=list)
    sections: list[tuple[int, str]] = field(default_factory=list)
    at: Fraction = Fraction(0)
    width: Fraction = Fraction(0)
    notes: list[Note] = field(default_factory=list)
    line: int = 0
    _layer_width: Fraction = Fraction(0)
    _count: int = 0
    _bar_metre: tuple[int, int] | None = None
    _bar_line: int = 0
    _tempos: list[tuple[Fraction, float]] = field(default_factory=list)
    _labels: list[tuple[Fraction, str]] = field(default_factory=list)
    _signs: OrderSigns = field(default_factory=OrderSigns)
    _waiting: list[str] = field(default_factory=list)
    _endings: frozenset[int] = frozenset()
    _open_times: int = 0  # of the section that |: has opened; 0 when none has

    def __post_init__(self) -> None:
        self._bar_metre = self.metre

    @property
    def place(self) -> Place:
        """The bar being written, for messages; a pickup is bar 0."""
        first = self.bars[0] if self.bars else None
        length, metre = (first.length, first.metre) if first else (self.width, self._bar_metre)
        has_pickup = metre is not None and length < Fraction(4 * metre[0], metre[1])
        number = len(self.bars) + (0 if has_pickup else 1)
        return Place(bar=number, line=self._bar_line if self.width else self.line)

    def change_metre(self, metre: tuple[int, int] | None) -> None:
        """A new metre, from this bar on if nothing stands in it yet."""
        self.metre = metre
        if not self.width:
            self._bar_metre = metre

    def change_tempo(self, bpm: float) -> None:
        """A new tempo in quarter notes a minute, from the cursor on."""
        self._tempos.append((self.at, bpm))

    def label(self, name: str) -> None:
        """A part of this name begins at the cursor."""
        self._labels.append((self.at, name))

    def begin_section(self, letter: str) -> None:
        """A part of the order of parts begins, and a new bar and repeatable section with it."""
        self.close()
        self._endings, self._open_times = frozenset(), 0
        self._signs = replace(self._signs, starts=True)
        self.sections.append((len(self.bars), letter))
        self.label(letter)

    def sign_at_start(self, name: str) -> None:
        """A segno or coda stands in this bar."""
        self._signs = self._signs.with_sign(name)

    def sign_at_end(self, name: str) -> None:
        """A jump or fine stands on what comes next: a note of this bar, or the bar line that ended the last."""
        if self.width:
            self._signs = self._signs.with_sign(name)
        else:
            self._waiting.append(name)

    def lay(self, notes: Sequence[Note], duration: Fraction) -> range:
        """Take in notes struck at the cursor (none for a rest) and move it on; their indexes in ``notes``."""
        if not self.width:
            self._bar_line = self.line
            for name in self._waiting:
                self._signs = self._signs.with_sign(name)
            self._waiting = []
        first = len(self.notes)
        self.notes += notes
        self._count += len(notes)
        self.limits.check("events", self._count, what="notes", where=Place(line=self.line))
        self.move_to(self.at + duration)
        return range(first, len(self.notes))

    def move_to(self, at: Fraction) -> None:
        """Put the cursor."""
        self.at = at
        self.width = max(self.width, at)

    def shorten_to(self, at: Fraction) -> None:
        """Put the cursor to the end of the last note, which was changed after it was laid."""
        self.at = at
        self.width = max(self._layer_width, at)

    def begin_layer(self) -> None:
        """Put the cursor back to the start of the bar, for notes that sound with those before."""
        self._layer_width = self.width
        self.at = Fraction(0)

    def close(self) -> None:
        """End the bar; marks of a bar that holds nothing wait for the next one."""
        if not self.width:
            self.at = Fraction(0)
            for name in self._waiting:
                self._mark_last(name)
            self._waiting = []
            return
        self.limits.check("bars", len(self.bars) + 1, what="bars", where=Place(line=self.line))
        self.bars.append(
            WrittenBar(
                place=self.place,
                length=self.width,
                notes=tuple(self.notes),
                metre=self._bar_metre,
                tempos=tuple(self._tempos),
                labels=tuple(self._labels),
                signs=replace(self._signs, endings=self._endings),
            )
        )
        self.at = self.width = self._layer_width = Fraction(0)
        self.notes, self._tempos, self._labels = [], [], []
        self._signs, self._bar_metre = OrderSigns(), self.metre

    def bar_line(self, signs: str) -> None:
        """A bar line, in whatever shape."""
        self.close()
        before, after = _colons(signs)
        if before:
            times = max(before + 1, self._open_times)
            if self.bars:
                last = self.bars[-1]
                self.bars[-1] = replace(last, signs=replace(last.signs, times=times))
            self._open_times = 0
        if before or after or len(signs) > 1:
            self._endings = frozenset()
        if after:
            self._open_times = after + 1
        if after or (len(signs) > 1 and not self._open_times):
            self._signs = replace(self._signs, starts=True)

    def begin_ending(self, numbers: str, place: Place) -> None:
        """An ending begins here."""
        self.close()
        self._endings = ending_numbers(numbers, place)
        self._signs = replace(self._signs, starts=False)

    def _mark_last(self, name: str) -> None:
        if self.bars:
            last = self.bars[-1]
            self.bars[-1] = replace(last, signs=last.signs.with_sign(name))

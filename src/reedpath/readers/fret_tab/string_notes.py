"""Touches: what stands on one string, read sign by sign into notes with their bends, slides and marks."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction

from reedpath.errors import ReadError
from reedpath.readers.fret_tab.amounts import FULL_BEND, MOST_BEND, bend_amount, written_fret
from reedpath.readers.fret_tab.signs import Signs, Technique

__all__ = ["TRILL", "Touch", "read_string"]

# what a note of a phrase cannot say, a kind of `LeftOut`
TRILL = "trills"

# fret; the longest fingerboards have 36 (common practice, no source)
HIGHEST_FRET = 36
# blanks between a slide's sign and the fret it leads to, at most; ours
MOST_SLIDE_GAP = 1

_DIGITS = re.compile(r"[0-9]+")
_FILLER = re.compile(r"[- |]+")
_CLOSERS = {"(": ")", "<": ">", "[": "]", "{": "}"}
_LINKS = {Technique.HAMMER, Technique.PULL}
_SLIDES = {Technique.SLIDE: 0, Technique.SLIDE_UP: 1, Technique.SLIDE_DOWN: -1}


@dataclass(slots=True)
class Touch:
    """One note or muted stroke on a string, being written while the string is read.

    string, column : where its first sign stands; ``end`` is the column after its fret.
    fret : None for a muted stroke.
    before : the note on this string from which it is hammered, pulled or slid, struck itself or not.
    link : how it is reached from there.
    pre_bend, bends : semitones, as in `reedpath.readers.bars.Note`.
    slide_in, slide_out : 1 up, -1 down, 0 not at all; to or from nowhere in particular.
    held_to : column after the last sign that holds or shakes it.
    cells : spans of columns after the fret that only describe it (bend and release).
    """

    string: int
    column: int
    end: int
    fret: int | None
    before: Touch | None = None
    link: Technique | None = None
    pre_bend: Fraction = Fraction(0)
    bends: list[Fraction] = field(default_factory=list)
    slide_in: int = 0
    slide_out: int = 0
    held_to: int = 0
    cells: list[tuple[int, int]] = field(default_factory=list)
    ghost: bool = False
    harmonic: bool = False
    vibrato: bool = False
    accent: bool = False
    grace: bool = False

    @property
    def height(self) -> Fraction:
        """Semitones over the fret at which the string now stands."""
        return self.pre_bend + sum(self.bends, Fraction(0))


class _Reading:
    """The state while one string is read from left to right."""

    def __init__(
        self, string: int, text: str, signs: Signs, where: Callable[[int], str], note: Callable[[str, str], None]
    ) -> None:
        self.string = string
        self.text = text
        self.signs = signs
        self.where = where
        self.note = note
        self.touches: list[Touch] = []
        self.last: Touch | None = None
        self.link: Technique | None = None
        self.slide: tuple[int, int, bool] | None = None  # direction, column after it, touches the note before
        self.reached = 0  # column after the last sign that was read
        self.bracket: tuple[str, int, Technique] | None = None
        self.next_is: set[Technique] = set()

    def fail(self, message: str, column: int, *, hint: str | None = None) -> ReadError:
        return ReadError(message, where=self.where(column), hint=hint)

    def read(self) -> list[Touch]:
        index = 0
        while index < len(self.text):
            filler = _FILLER.match(self.text, index)
            if filler:
                self._blank(filler[0], index)
                index = filler.end()
                continue
            index = self._sign(index)
            self.reached = index
        self._end_slide()
        if self.bracket:
            raise self.fail("a bracket that is not closed", self.bracket[1])
        return self.touches

    def _blank(self, filler: str, index: int) -> None:
        if self.bracket and "|" in filler:
            raise self.fail("a bracket that is not closed in its bar", self.bracket[1])
        if "|" in filler:
            self.next_is.clear()

    def _sign(self, index: int) -> int:
        digits = _DIGITS.match(self.text, index)
        if digits:
            return self._fret(index, digits[0])
        character = self.text[index]
        if self.bracket and character == _CLOSERS[self.bracket[0]]:
            self.bracket = None
            return index + 1
        if character in self.signs.brackets:
            if self.bracket:
                raise self.fail("a bracket inside a bracket", index)
            self.bracket = (character, index, self.signs.brackets[character])
            return index + 1
        found = self.signs.at(self.text, index)
        if found is None:
            raise self.fail(
                f"unknown sign {character!r}",
                index,
                hint=f"explain it in a line of its own: {character} = vibrato",
            )
        sign, technique = found
        return self._apply(technique, index, index + len(sign))

    # -- frets ---------------------------------------------------------------------------------------

    def _fret(self, index: int, digits: str) -> int:
        if len(digits) > 2 or int(digits) > HIGHEST_FRET:
            raise self.fail(
                f"fret {digits[:12]}, of 0 to {HIGHEST_FRET} allowed",
                index,
                hint="put a dash between two notes on a string",
            )
        kind = self.bracket[2] if self.bracket else None
        if kind is Technique.HOLD and self.last is not None:
            self.last.held_to = index + len(digits) + 1
            return index + len(digits)
        self._begin(index, index + len(digits), int(digits), muted=kind is Technique.MUTE)
        return index + len(digits)

    def _begin(self, index: int, end: int, fret: int, *, muted: bool = False) -> Touch:
        start = self.bracket[1] if self.bracket and self.bracket[1] == index - 1 else index
        touch = Touch(self.string, start, end, None if muted else fret)
        kind = self.bracket[2] if self.bracket else None
        touch.ghost = kind is Technique.GHOST
        touch.harmonic = kind is Technique.HARMONIC or Technique.HARMONIC in self.next_is
        touch.grace = kind is Technique.GRACE or Technique.GRACE in self.next_is
        touch.accent = Technique.ACCENT in self.next_is
        if Technique.PRE_BEND in self.next_is:
            touch.pre_bend = FULL_BEND
        self.next_is.clear()
        if not muted:
            self._join(touch)
        self.touches.append(touch)
        self.last = touch
        self.link = None
        return touch

    def _join(self, touch: Touch) -> None:
        """Tie a new note to the one it is hammered, pulled or slid from."""
        if self.slide is not None:
            direction, after, adjacent = self.slide
            near = touch.column - after <= MOST_SLIDE_GAP
            if near and adjacent and self.last is not None and self.last.fret is not None:
                touch.before, touch.link = self.last, Technique.SLIDE
                self.slide = None
            elif near:
                touch.slide_in = direction or 1
                self.slide = None
            self._end_slide()
        elif self.link is not None and self.last is not None and self.last.fret is not None:
            touch.before, touch.link = self.last, self.link

    def _end_slide(self) -> None:
        """A slide that leads to no note: out of the last one, if it touches that."""
        if self.slide is not None and self.slide[2] and self.last is not None:
            self.last.slide_out = self.slide[0] or 1
        self.slide = None

    # -- signs ---------------------------------------------------------------------------------------

    def _apply(self, technique: Technique, index: int, end: int) -> int:
        if technique in _SLIDES:
            self._end_slide()
            adjacent = self.last is not None and index - self._last_column() <= MOST_SLIDE_GAP
            self.slide = (_SLIDES[technique], end, adjacent)
            return end
        if technique in _LINKS:
            self.link = technique
            return end
        if technique in (Technique.BEND, Technique.PRE_BEND, Technique.BEND_RELEASE):
            return self._bend(technique, index, end)
        if technique is Technique.RELEASE:
            return self._release(index, end)
        if technique is Technique.MUTE:
            self._end_slide()
            self._begin(index, end, 0, muted=True)
        elif technique in (Technique.VIBRATO, Technique.HOLD):
            self._hold(technique, end)
        elif technique is Technique.TRILL:
            return self._trill(index, end)
        elif technique in (Technique.GRACE, Technique.TAP):
            self.next_is.add(technique)
        elif technique in (Technique.HARMONIC, Technique.ACCENT):
            self._mark(technique, index)
        return end

    def _last_column(self) -> int:
        """Column after all that has been written of the last note."""
        assert self.last is not None
        return max(self.last.end, self.last.held_to, *(end for _, end in self.last.cells), self._bracket_end())

    def _bracket_end(self) -> int:
        return self.reached if self.text[self.reached - 1 : self.reached] in (")", ">", "]", "}") else 0

    def _hold(self, technique: Technique, end: int) -> None:
        if self.last is None:
            return
        self.last.held_to = end
        self.last.vibrato = self.last.vibrato or technique is Technique.VIBRATO

    def _mark(self, technique: Technique, index: int) -> None:
        """A sign that belongs to the note it touches, before or after."""
        if self.last is not None and index <= self._last_column():
            if technique is Technique.HARMONIC:
                self.last.harmonic = True
            else:
                self.last.accent = True
        else:
            self.next_is.add(technique)

    def _trill(self, index: int, end: int) -> int:
        if self.last is None:
            raise self.fail("a trill on no note", index)
        self.note(TRILL, self.where(index))
        _, stop = written_fret(self.text, end)
        self.last.cells.append((index, stop))
        return stop

    # -- bends ---------------------------------------------------------------------------------------

    def _bent_note(self, index: int, what: str) -> Touch:
        if self.last is None or self.last.fret is None:
            raise self.fail(f"a {what} on no note", index)
        return self.last

    def _bend(self, technique: Technique, index: int, end: int) -> int:
        if technique is Technique.PRE_BEND and (self.last is None or index > self._last_column()):
            self.next_is.add(technique)
            return end
        touch = self._bent_note(index, "bend")
        assert touch.fret is not None
        semitones, stop = bend_amount(self.text, end, touch.fret)
        if not 0 < semitones <= MOST_BEND:
            raise self.fail(
                f"a bend {self.text[index:stop]!r} from fret {touch.fret}",
                index,
                hint=f"a bend rises, by up to {MOST_BEND} semitones: 7b9, 7bf, 7b1/2",
            )
        if any(step < 0 for step in touch.bends):  # bent anew after a release: a note of its own
            touch = self._begin(index, index + 1, touch.fret)
            touch.link, touch.before = Technique.HAMMER, self.touches[-2]
        if technique is Technique.PRE_BEND or (touch.pre_bend and not touch.bends):
            touch.pre_bend = semitones
        else:  # "7b9b10" bends on, to three semitones over fret 7
            touch.bends.append(semitones - touch.height if semitones > touch.height else semitones)
        if technique is Technique.BEND_RELEASE:
            touch.bends.append(-touch.height)
        touch.cells.append((index, stop))
        return stop

    def _release(self, index: int, end: int) -> int:
        touch = self._bent_note(index, "release")
        assert touch.fret is not None
        target, stop = written_fret(self.text, end)
        height = touch.height
        low = touch.fret if target is None else target
        touch.cells.append((index, stop))
        if height == 0 and low < touch.fret:  # the note was struck bent: "9r7"
            touch.fret, touch.pre_bend = low, Fraction(touch.fret - low)
            touch.bends.append(-touch.pre_bend)
            return stop
        if height <= 0:
            raise self.fail("a release of a string that is not bent", index, hint="write 7b9r7, or 9r7")
        if low >= touch.fret + height:
            raise self.fail(f"a release from {touch.fret + height} to fret {low}: a release falls", index)
        touch.bends.append(max(low - touch.fret, 0) - height)
        if low < touch.fret:  # let go, then pulled off to a lower fret
            pulled = self._begin(end, stop, low)
            pulled.before, pulled.link = touch, Technique.PULL
        return stop


def read_string(
    string: int,
    text: str,
    signs: Signs,
    *,
    where: Callable[[int], str],
    note: Callable[[str, str], None],
) -> list[Touch]:
    """
    The notes on one string of a staff, in order.

    Parameters
    ----------
    where : column -> place in the file, for messages.
    note : told what is not carried over, and its place.

    Raises
    ------
    ReadError
        Naming line and column, for a sign that means nothing there.
    """
    return _Reading(string, text, signs, where, note).read()

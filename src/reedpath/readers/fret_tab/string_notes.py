"""What stands on one string, read sign by sign into notes with their bends, slides and marks."""

from __future__ import annotations

import re
from collections.abc import Callable
from fractions import Fraction

from msgspec import Struct, field

from reedpath.errors import Place, ReadError
from reedpath.errors.english import Value
from reedpath.readers.fret_tab.signs import TabSigns, Technique
from reedpath.readers.omissions import Omissions

# fret; the longest fingerboards have 36 (common practice, no source)
HIGHEST_FRET = 36
# blanks between a slide's sign and the fret it leads to, at most; ours
MOST_SLIDE_GAP = 1
# semitones of a bend without a number; "full" is a whole tone (common practice, no source)
FULL_BEND = Fraction(2)
# semitones; strings are bent by two whole tones at most, a third by the boldest (common practice, no source)
MOST_BEND = Fraction(6)

_DIGITS = re.compile(r"[0-9]+")
_FILLER = re.compile(r"[- |]+")
_CLOSERS = {"(": ")", "<": ">", "[": "]", "{": "}"}
_LINKS = {Technique.HAMMER, Technique.PULL}
_SLIDES = {Technique.SLIDE: 0, Technique.SLIDE_UP: 1, Technique.SLIDE_DOWN: -1}
_AMOUNT = re.compile(
    r"\(?(?:(?P<steps>[1-3])?(?P<glyph>[¼½¾])|(?P<fraction>1/2|1/4|3/4|3/2)(?!\d)"
    r"|(?P<word>full|half|f)(?![a-z])|(?P<number>[0-9]{1,2})(?![0-9]))\)?",
    re.IGNORECASE,
)
_FRET = re.compile(r"\(?([0-9]{1,2})\)?(?![0-9])")
_GLYPHS = {"¼": Fraction(1, 4), "½": Fraction(1, 2), "¾": Fraction(3, 4)}


class StringNote(Struct):
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
    before: StringNote | None = None
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


def _end(match: re.Match[str]) -> int:
    """Column after a number, with its own brackets but not those around the whole note."""
    stray = match[0].endswith(")") and not match[0].startswith("(")
    return match.end() - stray


def _bend_amount(text: str, index: int, fret: int) -> tuple[Fraction, int]:
    """
    Semitones of the bend of a note on a fret, as written at an index of a text, and the index after it.

    ``b9`` to the pitch of fret 9, ``b(9)`` alike; ``b``, ``bf`` and ``bfull`` a whole tone, ``bhalf``, ``b1/2`` and
    ``b½`` a semitone, ``b1/4`` and ``b¼`` a quarter tone, ``b1½`` a tone and a half; a number no higher than the
    fret counts whole tones, up to three: ``7b1``, ``7b2``. Any other number gives 0.

    >>> _bend_amount("7b9r7", 2, 7), _bend_amount("7b", 2, 7), _bend_amount("7b1/2", 2, 7)
    ((Fraction(2, 1), 3), (Fraction(2, 1), 2), (Fraction(1, 1), 5))
    """
    match = _AMOUNT.match(text, index)
    if match is None:
        return FULL_BEND, index
    if match["number"]:
        number = int(match["number"])
        steps = FULL_BEND * number if number <= 3 else Fraction(0)
        return (Fraction(number - fret) if number > fret else steps), _end(match)
    if match["word"]:
        return (FULL_BEND / 2 if match["word"].lower() == "half" else FULL_BEND), _end(match)
    part = _GLYPHS[match["glyph"]] if match["glyph"] else Fraction(match["fraction"])
    return FULL_BEND * (int(match["steps"] or 0) + part), _end(match)


def _written_fret(text: str, index: int) -> tuple[int | None, int]:
    """
    The fret written at an index of a text, in brackets or not, and the index after it; None for none.

    >>> _written_fret("7b9r7", 4), _written_fret("7b9r", 4)
    ((7, 5), (None, 4))
    """
    match = _FRET.match(text, index)
    return (None, index) if match is None else (int(match[1]), _end(match))


class _StringReader:
    """The state while one string is read from left to right."""

    def __init__(
        self, string: int, text: str, signs: TabSigns, where: Callable[[int], Place], omissions: Omissions
    ) -> None:
        self.string = string
        self.text = text
        self.signs = signs
        self.where = where
        self.omissions = omissions
        self.notes: list[StringNote] = []
        self.last: StringNote | None = None
        self.link: Technique | None = None
        self.slide: tuple[int, int, bool] | None = None  # direction, column after it, touches the note before
        self.reached = 0  # column after the last sign that was read
        self.bracket: tuple[str, int, Technique] | None = None
        self.next_is: set[Technique] = set()

    def fail(self, key: str, column: int, **values: Value) -> ReadError:
        return ReadError(key, where=self.where(column), **values)

    def read(self) -> list[StringNote]:
        index = 0
        while index < len(self.text):
            filler = _FILLER.match(self.text, index)
            if filler:
                self._blank(filler[0])
                index = filler.end()
                continue
            index = self._sign(index)
            self.reached = index
        self._end_slide()
        if self.bracket:
            raise self.fail("tab.bracket_open", self.bracket[1])
        return self.notes

    def _blank(self, filler: str) -> None:
        if self.bracket and "|" in filler:
            raise self.fail("tab.bracket_open_in_bar", self.bracket[1])
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
                raise self.fail("tab.bracket_in_bracket", index)
            self.bracket = (character, index, self.signs.brackets[character])
            return index + 1
        found = self.signs.at(self.text, index)
        if found is None:
            raise self.fail("tab.unknown_sign", index, sign=character)
        sign, technique = found
        return self._apply(technique, index, index + len(sign))

    # -- frets ---------------------------------------------------------------------------------------

    def _fret(self, index: int, digits: str) -> int:
        end = index + len(digits)
        if len(digits) > 2 or int(digits) > HIGHEST_FRET:
            raise self.fail("tab.fret", index, fret=digits[:12], most=HIGHEST_FRET)
        kind = self.bracket[2] if self.bracket else None
        if kind is Technique.HOLD and self.last is not None:
            self.last.held_to = end + 1
        else:
            self._begin(index, end, None if kind is Technique.MUTE else int(digits))
        return end

    def _begin(self, index: int, end: int, fret: int | None) -> StringNote:
        """A new note; a muted stroke where there is no fret."""
        start = self.bracket[1] if self.bracket and self.bracket[1] == index - 1 else index
        note = StringNote(self.string, start, end, fret)
        kind = self.bracket[2] if self.bracket else None
        note.ghost = kind is Technique.GHOST
        note.harmonic = kind is Technique.HARMONIC or Technique.HARMONIC in self.next_is
        note.grace = kind is Technique.GRACE or Technique.GRACE in self.next_is
        note.accent = Technique.ACCENT in self.next_is
        if Technique.PRE_BEND in self.next_is:
            note.pre_bend = FULL_BEND
        self.next_is.clear()
        if fret is not None:
            self._join(note)
        self.notes.append(note)
        self.last = note
        self.link = None
        return note

    def _join(self, note: StringNote) -> None:
        """Tie a new note to the one it is hammered, pulled or slid from."""
        from_fret = self.last is not None and self.last.fret is not None
        if self.slide is not None:
            direction, after, adjacent = self.slide
            near = note.column - after <= MOST_SLIDE_GAP
            if near and adjacent and from_fret:
                note.before, note.link = self.last, Technique.SLIDE
                self.slide = None
            elif near:
                note.slide_in = direction or 1
                self.slide = None
            self._end_slide()
        elif self.link is not None and from_fret:
            note.before, note.link = self.last, self.link

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
        elif technique in _LINKS:
            self.link = technique
        elif technique in (Technique.BEND, Technique.PRE_BEND, Technique.BEND_RELEASE):
            return self._bend(technique, index, end)
        elif technique is Technique.RELEASE:
            return self._release(index, end)
        elif technique is Technique.MUTE:
            self._end_slide()
            self._begin(index, end, None)
        elif technique in (Technique.VIBRATO, Technique.HOLD) and self.last is not None:
            self.last.held_to = end
            self.last.vibrato = self.last.vibrato or technique is Technique.VIBRATO
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
        bracket_end = self.reached if self.text[self.reached - 1 : self.reached] in (")", ">", "]", "}") else 0
        return max(self.last.end, self.last.held_to, *(end for _, end in self.last.cells), bracket_end)

    def _mark(self, technique: Technique, index: int) -> None:
        """A sign that belongs to the note it touches, before or after."""
        if self.last is None or index > self._last_column():
            self.next_is.add(technique)
        elif technique is Technique.HARMONIC:
            self.last.harmonic = True
        else:
            self.last.accent = True

    def _trill(self, index: int, end: int) -> int:
        if self.last is None:
            raise self.fail("tab.trill_on_no_note", index)
        self.omissions.note("trills", self.where(index))
        _, stop = _written_fret(self.text, end)
        self.last.cells.append((index, stop))
        return stop

    # -- bends ---------------------------------------------------------------------------------------

    def _bend(self, technique: Technique, index: int, end: int) -> int:
        if technique is Technique.PRE_BEND and (self.last is None or index > self._last_column()):
            self.next_is.add(technique)
            return end
        note = self.last
        if note is None or note.fret is None:
            raise self.fail("tab.bend_on_no_note", index)
        semitones, stop = _bend_amount(self.text, end, note.fret)
        if not 0 < semitones <= MOST_BEND:
            raise self.fail("tab.bend", index, bend=self.text[index:stop], fret=note.fret, most=MOST_BEND)
        if any(step < 0 for step in note.bends):  # bent anew after a release: a note of its own
            again = self._begin(index, index + 1, note.fret)
            again.link, again.before = Technique.HAMMER, note
            note = again
        if technique is Technique.PRE_BEND or (note.pre_bend and not note.bends):
            note.pre_bend = semitones
        else:  # "7b9b10" bends on, to three semitones over fret 7
            note.bends.append(semitones - note.height if semitones > note.height else semitones)
        if technique is Technique.BEND_RELEASE:
            note.bends.append(-note.height)
        note.cells.append((index, stop))
        return stop

    def _release(self, index: int, end: int) -> int:
        note = self.last
        if note is None or note.fret is None:
            raise self.fail("tab.release_on_no_note", index)
        target, stop = _written_fret(self.text, end)
        height = note.height
        low = note.fret if target is None else target
        note.cells.append((index, stop))
        if height == 0 and low < note.fret:  # the note was struck bent: "9r7"
            note.fret, note.pre_bend = low, Fraction(note.fret - low)
            note.bends.append(-note.pre_bend)
            return stop
        if height <= 0:
            raise self.fail("tab.release_of_no_bend", index)
        if low >= note.fret + height:
            raise self.fail("tab.release_rises", index, since=note.fret + height, fret=low)
        note.bends.append(max(low - note.fret, 0) - height)
        if low < note.fret:  # let go, then pulled off to a lower fret
            pulled = self._begin(end, stop, low)
            pulled.before, pulled.link = note, Technique.PULL
        return stop


def read_string(
    string: int, text: str, signs: TabSigns, *, where: Callable[[int], Place], omissions: Omissions
) -> list[StringNote]:
    """
    The notes on one string of a staff, in order; ``where`` is the place in the file of a column.

    Raises `ReadError`, naming line and column, for a sign that means nothing there.
    """
    return _StringReader(string, text, signs, where, omissions).read()

"""Tab under a count: rows between bar lines, notes under the counts they start at, as a lesson's tab is printed.

    [Call]
          1   &   2   &     1   &   2   &
      1 | -2  -3' 4   ·   | -4'›-4  ·     |

        [Answer] as part Call (bars 1 to 2)

Nothing but rows, what stands right over them, and such lines of parts that are played as before is read.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import pairwise

from msgspec import Struct, field
from msgspec.structs import replace

from reedpath.errors import Place, ReadError
from reedpath.phrase import guessed_places
from reedpath.readers.omissions import Omissions
from reedpath.readers.typed_tab.heading import TypedHeading, read_heading
from reedpath.readers.typed_tab.lengths import parse_count

_ROW = re.compile(r"\s*(?P<mark>\d{1,5}(?: ?\(\d{1,3}\))?)?\s*(?P<tab>\|.*\|)\s*")
# what takes its time in a row: a move, perhaps with blanks inside its brackets; a breath does not
_PIECE = re.compile(r"(?:[(\[{][^()\[\]{}|]*[)\]}]|[^\s|,()\[\]{}])+")
_WORD = re.compile(r"\S+")
_LABEL = re.compile(r"\[(?P<part>[^\[\]]+)\]|\((?P<length>\d{1,4}/\d{1,4})\)|(?P<metre>\d{1,2}/\d{1,2})(?!\S)")
_AS_BEFORE = re.compile(r"\s*\[(?P<part>[^\[\]]+)\] (?P<words>.*\S) \((?P<bars>[^()]*)\)(?: ,)?\s*")
# signs of a note that goes on and of one left out, in plain characters
HOLDS, SILENT = ("*", "."), ("x",)
# columns by which a piece may stand beside its count; half of what a moment takes at least
_NEAR = 1
# the heading of a tab as it is printed, and what stands under its title
_HEADING = re.compile(r"\s*harp: \S.*\s{2,}notation: \S.*")
_UNDER_TITLE = re.compile(r"=+")
# how a part is called that is none
_NO_PART = "-"


class Moment(Struct, frozen=True):
    """A counted place of a bar, or an uncounted one where something stands.

    place : line and column.
    text : what stands there, nothing in a rest.
    sign : what is counted there: the number of a unit or a share of one; None where nothing is.
    part : name of the part that begins here, if one does.
    """

    place: Place
    text: str
    sign: int | Fraction | None
    part: str = ""


class CountedBar(Struct):
    """A bar as it stands in rows.

    number : that stands before it where it begins a row, else 0.
    metre : count and unit.
    length : of a bar that is not a whole one, in whole notes.
    moments : in order.
    """

    number: int
    metre: tuple[int, int]
    length: Fraction | None
    moments: list[Moment]

    def timed(self) -> list[tuple[Moment, Fraction]]:
        """The moments with their lengths in beats.

        Raises `ReadError`, naming line and column of a count that does not come after the one before it.
        """
        beats = Fraction(4, self.metre[1])
        start = _first_place(self.moments, self.metre[0])
        end = Fraction(self.metre[0]) if self.length is None else start + self.length * 4 / beats
        places = _places(self.moments, start, end)
        for moment, (one, after) in zip(self.moments, pairwise([*places, end]), strict=True):
            if after <= one:
                raise ReadError("tab.no_count", where=moment.place)
        return [
            (moment, (after - one) * beats)
            for moment, (one, after) in zip(self.moments, pairwise([*places, end]), strict=True)
        ]


def _first_place(moments: Sequence[Moment], count: int) -> Fraction:
    """Where a bar begins, in units: a pickup says no number where it begins within a unit."""
    first = moments[0].sign
    if isinstance(first, int):
        return Fraction(first - 1)
    number = next((moment.sign for moment in moments if isinstance(moment.sign, int)), count + 1)
    return number - 2 + (first or Fraction(0))


def _places(moments: Sequence[Moment], start: Fraction, end: Fraction) -> list[Fraction]:
    """Where each moment lies, in units of the bar."""
    unit = start.numerator // start.denominator
    known: list[Fraction | None] = []
    for moment in moments:
        if isinstance(moment.sign, int):
            unit = moment.sign - 1
        known.append(
            None if moment.sign is None else unit + Fraction(0 if isinstance(moment.sign, int) else moment.sign)
        )
    known[0] = start
    places: list[Fraction] = []
    for index, place in enumerate(known):
        if place is not None:
            after = next((one for one in known[index + 1 :] if one is not None), end)
            waiting = next((n for n, one in enumerate(known[index + 1 :]) if one is not None), len(known) - index - 1)
            places += [place, *guessed_places(place, after, waiting)]
    return places


# -------------------------------------------------------------------------------------------------------- rows


class _Row(Struct, frozen=True):
    """A row of tab.

    number : index of its line.
    mark : number of its first bar, 0 where none stands.
    starts_bar : whether a number stands before it.
    over, labels : the lines of counts and of labels above it, perhaps empty.
    """

    number: int
    mark: int
    starts_bar: bool
    text: str
    over: str
    labels: str


def _counts(line: str) -> list[tuple[int, int | Fraction]] | None:
    """Columns and counts of a line of nothing else; None for any other line."""
    found = []
    for word in _WORD.finditer(line):
        sign = parse_count(word[0])
        if sign is None:
            return None
        found.append((word.start(), sign))
    return found or None


def _rows(lines: Sequence[str]) -> Iterator[_Row]:
    for number, line in enumerate(lines):
        match = _ROW.fullmatch(line)
        if match is None:
            continue
        above = [lines[index] if index >= 0 else "" for index in (number - 1, number - 2)]
        has_counts = _counts(above[0]) is not None
        over, labels = (above[0], above[1]) if has_counts else ("", above[0])
        mark = match["mark"] or ""
        yield _Row(number, int(mark.split("(")[0] or 0), bool(mark), line, over, labels)


def _is_under_counts(row: _Row) -> bool:
    """Whether most notes of a row stand right under counts, which begin after its first bar line."""
    counts = _counts(row.over)
    if counts is None or 1 not in (sign for _, sign in counts):
        return False
    columns = {column for column, _ in counts}
    pieces = [match.start() for match in _PIECE.finditer(row.text, row.text.index("|"))]
    is_under = 2 * sum(column in columns for column in pieces) >= len(pieces) > 0
    return is_under and counts[0][0] > row.text.index("|")


def is_counted(lines: Sequence[str]) -> bool:
    """Whether a text is tab under counts: one as it is printed, or one with a row whose notes stand under counts."""
    rows = list(_rows(lines))
    is_printed = bool(rows) and any(_HEADING.fullmatch(line) for line in lines)
    return is_printed or any(map(_is_under_counts, rows))


def first_tab(lines: Sequence[str], omissions: Omissions) -> list[str]:
    """The lines of the first of several tabs in one text; of the others ``omissions`` is told."""
    headings = [number for number, line in enumerate(lines) if _HEADING.fullmatch(line)]
    if len(headings) < 2:
        return list(lines)
    omissions.note("other-tunes", Place(line=headings[1] + 1), count=len(headings) - 1)
    return list(lines[: headings[1]])


def counted_heading(lines: Sequence[str], omissions: Omissions) -> TypedHeading:
    """The heading of a tab under a count: the title over its rule, and the lines of fields before its last row."""
    rule = next((number for number, line in enumerate(lines) if _UNDER_TITLE.fullmatch(line)), None)
    blank = next((number for number, line in enumerate(lines) if not line.strip()), len(lines))
    titled = rule if rule is not None and rule < blank else 0
    last = max((row.number for row in _rows(lines)), default=0)
    heading, _ = read_heading(
        ((number, line) for number, line in enumerate(lines[:last], start=1) if number > titled), omissions
    )
    return heading if heading.title else replace(heading, title=" ".join(line.strip() for line in lines[:titled]))


def row_texts(lines: Sequence[str]) -> list[str]:
    """The rows from their first bar line on, signs between moves and beside them taken out."""
    return [re.sub(r"[›»«<>~*.]", " ", row.text[row.text.index("|") :]) for row in _rows(lines)]


def _moments(row: _Row) -> Iterator[list[Moment]]:
    """The moments of each bar of a row, each at its count or where it stands."""
    counts = _counts(row.over) or []
    edges = [match.start() for match in re.finditer(r"\|", row.text)]
    for start, end in pairwise(edges):
        signs = {column: sign for column, sign in counts if start < column < end}
        texts: dict[int, tuple[int, str]] = {}
        for match in _PIECE.finditer(row.text, start + 1, end):
            near = [column for column in signs if abs(column - match.start()) <= _NEAR and column not in texts]
            column = min(near, key=lambda one: abs(one - match.start()), default=match.start())
            texts[column] = (match.start(), match[0])
        columns = sorted({*signs, *texts})
        yield [
            Moment(
                Place(line=row.number + 1, column=texts.get(column, (column, ""))[0] + 1),
                texts.get(column, (column, ""))[1],
                signs.get(column),
            )
            for column in columns
        ]


# ------------------------------------------------------------------------------------------------------- parts


class _Section(Struct):
    """Bars from a label to the next; `is_named` where it is a part."""

    part: str = ""
    bars: list[CountedBar] = field(default_factory=list)

    @property
    def number(self) -> int:
        """Of its first bar that has one."""
        return next((bar.number for bar in self.bars if bar.number), 1)


class _Gatherer:
    """The bars of a text, gathered row by row."""

    def __init__(self, metre: tuple[int, int]) -> None:
        self.metre = metre
        self.sections: list[_Section] = [_Section()]

    @property
    def _last(self) -> CountedBar | None:
        return next((section.bars[-1] for section in reversed(self.sections) if section.bars), None)

    def _goes_on(self, row: _Row, moments: Sequence[Moment]) -> bool:
        """Whether a row begins within the bar that the last one broke off in."""
        last = self._last
        if row.starts_bar or last is None or not moments:
            return False
        before = next((moment.sign for moment in reversed(last.moments) if isinstance(moment.sign, int)), 0)
        first = next((moment.sign for moment in moments if isinstance(moment.sign, int)), before + 1)
        return first > before or not isinstance(moments[0].sign, int)

    def row(self, row: _Row) -> None:
        """The bars of a row."""
        bars = list(_moments(row))
        labels = list(_LABEL.finditer(row.labels)) if _WORD.match(row.labels.strip() or " ") else []
        goes_on = bool(bars) and self._goes_on(row, bars[0])
        length = None
        if not goes_on:
            first = bars[0][0].place.column or 1 if bars and bars[0] else 1
            at_start = [one for one in labels if one["part"] is None or one.start() + 1 <= first][:2]
            for label in at_start:
                if label["metre"]:
                    count, unit = label["metre"].split("/")
                    self.metre = (int(count), int(unit))
                elif label["length"]:
                    length = Fraction(label["length"])
                else:
                    self.sections.append(_Section("" if label["part"] in ("–", _NO_PART) else label["part"]))
        parts = [(one.start() + 1, one["part"]) for one in labels if one["part"]]
        for index, moments in enumerate(bars):
            if not moments:
                continue
            named = _with_parts(moments, parts)
            if index == 0 and goes_on and self._last is not None:
                self._last.moments += named
            else:
                bar = CountedBar(row.mark if index == 0 else 0, self.metre, length if index == 0 else None, named)
                self.sections[-1].bars.append(bar)

    def as_before(self, match: re.Match[str]) -> None:
        """A part that is played as an earlier one is printed."""
        words, number = match["words"], re.search(r"\d+", match["bars"])
        like = [one for one in self.sections if one.part and words.endswith(f" {one.part}")]
        longest = max((len(one.part) for one in like), default=0)
        found = [
            one for one in like
            if len(one.part) == longest and (number is None or one.number == int(number[0]))
        ]  # fmt: skip
        if not found:
            return
        bars = [_renamed(bar, match["part"] if index == 0 else "") for index, bar in enumerate(found[0].bars)]
        self.sections.append(_Section("", bars))
        self.sections.append(_Section())
        self.metre = bars[-1].metre if bars else self.metre


def _with_parts(moments: Sequence[Moment], parts: list[tuple[int, str]]) -> list[Moment]:
    """The moments with the parts that begin at them; these are taken out of the list."""
    named = []
    for moment in moments:
        here = [part for part in parts if part[0] <= (moment.place.column or 0)]
        for part in here:
            parts.remove(part)
        label = here[-1][1] if here else ""
        named.append(replace(moment, part="" if label in ("–", _NO_PART) else label))
    return named


def _renamed(bar: CountedBar, part: str) -> CountedBar:
    """A bar played again, of which nothing but its first moment may begin a part."""
    first, *more = (replace(moment, part="") for moment in bar.moments)
    return CountedBar(0, bar.metre, bar.length, [replace(first, part=part), *more])


def counted_bars(lines: Sequence[str], heading: TypedHeading) -> list[CountedBar]:
    """The bars, as they are played, of a text in plain characters in which notes stand under counts."""
    rows = list(_rows(lines))
    highest = max((sign for row in rows for _, sign in _counts(row.over) or () if isinstance(sign, int)), default=4)
    metre = heading.metre
    gatherer = _Gatherer(metre.signature if metre else (highest, 4))
    at = {row.number: row for row in rows}
    for number, line in enumerate(lines):
        if number in at:
            gatherer.row(at[number])
        elif (match := _AS_BEFORE.fullmatch(line)) is not None:
            gatherer.as_before(match)
    return [bar for section in gatherer.sections for bar in section.bars]

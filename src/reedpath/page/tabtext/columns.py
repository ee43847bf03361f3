"""Columns: the moments of a bar that the tab text shows, with what is counted and played there, and which of them
repeat an earlier part bar for bar and are only named.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby, pairwise

from reedpath.page.score.bars import ScoreBar
from reedpath.page.score.sheet import Sheet, WrittenNote, note_namer
from reedpath.page.score.tab_signs import marks_for, note_token
from reedpath.page.spans import SpanIndex
from reedpath.phrase import COUNTED, PrintedBar, guessed_places, metre_at
from reedpath.wording import Catalogue, counted_bpm, tempo_sign

_INNER_BRACKETS = str.maketrans("[]", "()")
# label over the first bar that belongs to no part, after one that does
NO_PART = "[–]"


@dataclass(frozen=True, slots=True)
class Column:
    """A moment of a bar.

    beats : its place in the phrase.
    count : what is counted there, perhaps nothing.
    tab : the token of a note that starts, the sign of one that goes on, or nothing in a rest.
    names : names of the notes that start.
    label : a part that starts or a tempo that changes there.
    breathes_after : whether a breath is taken before the next column.
    starts_bar : the bar that starts there, None within a bar.
    is_beat : whether a line may break before it.
    """

    beats: Fraction
    count: str
    tab: str = ""
    names: str = ""
    label: str = ""
    breathes_after: bool = False
    starts_bar: ScoreBar | None = None
    is_beat: bool = False


def _counts(bar: ScoreBar, onsets: set[Fraction]) -> Iterator[tuple[Fraction, str]]:
    """Places of the bar that are counted: units always, their halves in slow units, quarters where needed."""
    unit = Fraction(4, bar.metre.unit)
    for number in range(bar.metre.count):
        start = number * unit
        yield start, str(number + 1)
        places = {start + share * unit: sign for share, sign in COUNTED.items()}
        has_quarters = any(place in onsets for place, sign in places.items() if sign != "&")
        for place, sign in places.items():
            is_half = sign == "&" and (bar.metre.unit <= 4 or has_quarters)
            if place in onsets or is_half:
                yield place, sign


def metre_label(bar: ScoreBar) -> str:
    """The metre over a bar that changes it; how long a bar lasts, in brackets, that is no whole one of its metre."""
    if not bar.is_full and not bar.offset:
        length = (bar.end - bar.onset) / 4
        return f"({length.numerator}/{length.denominator})"
    return bar.metre.name if bar.shows_metre else ""


def part_label(label: str) -> str:
    """The label of a part in brackets, none inside them."""
    return f"[{label.translate(_INNER_BRACKETS)}]"


def _labels(sheet: Sheet) -> dict[Fraction, str]:
    """What stands over the tab, by beat: parts, metres and tempos after the first."""
    labels: dict[Fraction, str] = {}
    for part in reversed(sheet.parts):
        labels[part.onset] = part_label(part.label)
    for bar in sheet.bars[1:]:
        if metre_label(bar):
            labels[bar.onset] = f"{labels.get(bar.onset, '')} {metre_label(bar)}".strip()
    for tempo in sheet.route.phrase.tempos[1:]:
        metre = metre_at(sheet.route.phrase, tempo.onset)
        told = f"{tempo_sign(metre)}={counted_bpm(tempo.bpm, metre):.3g}"
        labels[tempo.onset] = f"{labels.get(tempo.onset, '')} {told}".strip()
    return labels


def _all_counted(
    bar: ScoreBar, places: Sequence[Fraction], signs: Sequence[str], tabs: Sequence[str]
) -> Iterator[str]:
    """The counts of a bar's places, with the share of the unit at those that nobody would guess.

    places : beats of the phrase. signs : what is counted there, perhaps nothing. tabs : what stands under it.
    """
    unit = Fraction(4, bar.metre.unit)
    shares = [bar.place(beat) / unit for beat in places]
    end = bar.place(bar.end) / unit
    index = 0
    for has_sign, group in groupby(zip(signs, shares, tabs, strict=True), key=lambda one: bool(one[0])):
        run = list(group)
        if has_sign:
            yield from (sign for sign, _, _ in run)
        else:
            stop = shares[index + len(run)] if index + len(run) < len(shares) else end
            guessed = guessed_places(shares[index - 1], stop, len(run)) if index else []
            is_told = guessed == [share for _, share, _ in run] and all(tab for _, _, tab in run)
            yield from ("" if is_told else str(share % 1) for _, share, _ in run)
        index += len(run)


class _ColumnWriter:
    """What all bars share."""

    def __init__(
        self, sheet: Sheet, catalogue: Catalogue | None, *, ascii_only: bool, shown: Collection[Fraction] = ()
    ) -> None:
        self.sheet, self.ascii_only = sheet, ascii_only
        self.shown = sorted(shown)
        self.namer = note_namer(sheet, catalogue) if catalogue else None
        self.marks = marks_for(ascii_only=ascii_only)
        self.labels = _labels(sheet)
        self.labelled = sorted(self.labels)
        self.spans = SpanIndex((note.onset, note.end) for note in sheet.notes)
        self.breaths = {
            note.onset
            for note in sheet.notes[1:]
            if any(sheet.route.events[index].breathe_before for index in (*note.graces, note.index))
        }

    def tab(self, notes: list[WrittenNote], beats: Fraction) -> str:
        """What stands in the tab line at a beat."""
        for note in notes:
            if note.onset == beats:
                return note_token(self.sheet, note, ascii_only=self.ascii_only, points_back=True)
            if note.onset < beats < note.end and self.sheet.event(note).choice.move is not None:
                return self.marks.hold
        return ""

    def names(self, notes: list[WrittenNote], beats: Fraction) -> str:
        """Names of the notes that start at a beat."""
        if self.namer is None:
            return ""
        return "+".join(name for note in notes if note.onset == beats for name in self.namer(note))

    def bar(self, bar: ScoreBar) -> Iterator[Column]:
        """The columns of one bar."""
        near = self.spans.near(bar.onset, bar.end)
        notes = [note for note in self.sheet.notes[near.start : near.stop] if note.end > bar.onset]
        # a rest begins where a note ends, whatever is counted there
        starts = {beat for note in notes for beat in (note.onset, note.end) if bar.onset <= beat < bar.end}
        starts |= {*self.shown[bisect_left(self.shown, bar.onset) : bisect_left(self.shown, bar.end)]}
        counts = dict(_counts(bar, {bar.place(beat) for beat in starts}))
        labels = set(self.labelled[bisect_left(self.labelled, bar.onset) : bisect_left(self.labelled, bar.end)])
        counted = {bar.beat_at(place): sign for place, sign in counts.items()}
        inside = {beat for beat in counted if bar.onset <= beat < bar.end}
        places = sorted({bar.onset} | starts | labels | inside)
        units = {bar.beat_at(edge) for edge in bar.grid.beats}
        tabs = [self.tab(notes, beat) for beat in places]
        signs = _all_counted(bar, places, [counted.get(beat, "") for beat in places], tabs)
        for beat, after, sign, tab in zip(places, [*places[1:], bar.end], signs, tabs, strict=True):
            yield Column(
                beat,
                sign,
                tab,
                self.names(notes, beat),
                self.labels.get(beat, ""),
                breathes_after=after in self.breaths,
                starts_bar=bar if beat == bar.onset else None,
                is_beat=beat in units,
            )


def columns_of(
    sheet: Sheet, *, names_in: Catalogue | None = None, ascii_only: bool = False, shown: Collection[Fraction] = ()
) -> tuple[Column, ...]:
    """All columns of a sheet, in order.

    names_in : the language to name notes in, None for no names.
    shown : beats that have a column of their own, whatever is played there.
    """
    writer = _ColumnWriter(sheet, names_in, ascii_only=ascii_only, shown=shown)
    return tuple(column for bar in sheet.bars for column in writer.bar(bar))


@dataclass(frozen=True, slots=True)
class Section:
    """A stretch of columns, and the earlier one it repeats.

    columns : in order.
    label : of the part it is, empty for bars that no part claims.
    as_label : label of the earlier part, empty where this is printed.
    as_bars : the bars of that earlier part.
    as_columns : those of the earlier part, moment by moment.
    breathes_after : whether a breath follows.
    """

    columns: tuple[Column, ...]
    label: str = ""
    as_label: str = ""
    as_bars: tuple[PrintedBar, ...] = ()
    breathes_after: bool = False
    as_columns: tuple[Column, ...] = ()


def _cuts(sheet: Sheet) -> list[Fraction]:
    """Bar lines at which a part begins or ends."""
    lines = {bar.onset for bar in sheet.bars} | {sheet.bars[-1].end}
    edges = {edge for part in sheet.parts for edge in (part.onset, part.end)}
    return sorted((edges & lines) | {sheet.bars[0].onset, sheet.bars[-1].end})


def _likeness(columns: Sequence[Column]) -> tuple[object, ...]:
    """What makes two stretches the same to play: all but where they stand and a breath behind them."""
    start = columns[0].beats
    cells = [
        replace(column, beats=column.beats - start, label="", starts_bar=None, breathes_after=column.breathes_after)
        for column in columns
    ]
    cells[-1] = replace(cells[-1], breathes_after=False)
    bars = tuple(column.starts_bar is not None for column in columns)
    return (*cells, bars)


def folded(sheet: Sheet, columns: Sequence[Column]) -> list[Section]:
    """The columns in sections; one that sounds like an earlier part says so."""
    sections: list[Section] = []
    seen: dict[tuple[object, ...], Section] = {}
    named: set[tuple[str, int]] = set()
    beats = [column.beats for column in columns]
    labels = {part.onset: part.label for part in reversed(sheet.parts)}
    onsets = sorted(labels)
    for start, end in pairwise(_cuts(sheet)):
        inside = tuple(columns[bisect_left(beats, start) : bisect_left(beats, end)])
        label = labels.get(start, "")
        has_inner = bisect_right(onsets, start) < bisect_left(onsets, end)
        likeness = _likeness(inside)
        like = seen.get(likeness) if label and not has_inner else None
        section = Section(inside, label)
        if like is not None and any(column.tab for column in inside):
            bars = tuple(bar.printed for bar in _bars(like.columns))
            section = Section(inside, label, like.label, bars, inside[-1].breathes_after, like.columns)
        elif label:
            # a part can be named once for all only where no other has its label and number
            name = (part_label(label), next((bar.printed.number for bar in _bars(inside) if bar.printed.number), 0))
            if name not in named:
                seen.setdefault(likeness, section)
            named.add(name)
        elif sections and sections[-1].label and not sections[-1].as_label:
            first = replace(inside[0], label=f"{NO_PART} {inside[0].label}".rstrip())
            section = Section((first, *inside[1:]))
        sections.append(section)
    return sections


def _bars(columns: Sequence[Column]) -> list[ScoreBar]:
    """The bars that begin in some columns."""
    return [column.starts_bar for column in columns if column.starts_bar]

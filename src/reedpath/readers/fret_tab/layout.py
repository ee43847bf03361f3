"""Layout of a tab file: which lines are strings, how they make systems, what the lines over and under those say."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from typing import TypeAlias

from msgspec import Struct, field

from reedpath.errors import Place, ReadError
from reedpath.readers.omissions import Omissions
from reedpath.readers.typed_tab.lengths import CountMark, LengthMark, parse_counts, parse_lengths
from reedpath.readers.typed_tab.text import is_chord_line, part_names

# number (from 1) and text of a line that is no string
NumberedLine: TypeAlias = tuple[int, str]


# strings of the instruments read; common practice, no source
LEAST_STRINGS, MOST_STRINGS = 4, 8
# share of dashes and bars in a line that is taken for a string without a letter before it; ours
_BARE_SHARE = 0.4
# the same for a line that, standing alone, is surely part of a broken system; ours
_SURE_SHARE = 0.6
_SURE_LENGTH = 8
# share of dashes, bars and digits in a line with a letter and a bar before it; ours
_LABELLED_SHARE = 0.4
# lines around a system that belong to it; ours
_NEAR_LINES = 4

# a letter before a string, and the bar line at its edge
_LABEL = re.compile(r"\s*(?P<label>[A-Ha-h][#b]?\d?)?\s*(?P<edge>[|:\]])?")
# a line of marks over the strings that looks like a string: palm mute, harmonics, the first of two endings
_MARKS = re.compile(r"\s*(P\.?M|[NAP]\.?H|\d[.)])", re.IGNORECASE)
_WORD = re.compile(r"[A-Za-z]{3,}")
_TAIL = re.compile(r"\s+[^\s-].*|\s*\(?[x*]\s*\d+\)?|\s*\(?\d+\s*[x*]\)?", re.IGNORECASE)
_AMOUNT_WORD = re.compile(r"full|half", re.IGNORECASE)
_ENDING = re.compile(r"(?P<numbers>\d(?:,\s?\d)*)[.)][ _-]*")
_ENDINGS_ONLY = re.compile(r"[ |_-]*(?:\d(?:,\s?\d)*[.)][ _|-]*)+")
_PALM = re.compile(r"\s*P\.?\s?M\.?[\s.\-_|PM]*", re.IGNORECASE)


class StringLine(Struct, frozen=True):
    """A line that is a string.

    number : of the line, 1-based.
    label : letter before it, perhaps empty.
    start : column (0-based) of the body's first character.
    body : what stands on the string, the bar line at its left edge included.
    tail : what stands after the last bar line.
    """

    number: int
    label: str
    start: int
    body: str
    tail: str = ""


class StringSystem(Struct, frozen=True):
    """String lines one under another, the lines above them (nearest first) and below."""

    strings: tuple[StringLine, ...]
    above: tuple[NumberedLine, ...] = ()
    below: tuple[NumberedLine, ...] = ()

    @property
    def place(self) -> Place:
        """Line of the top string."""
        return Place(line=self.strings[0].number)

    @property
    def labels(self) -> tuple[str, ...]:
        """Letters before the strings."""
        return tuple(line.label for line in self.strings)


class SystemMarks(Struct):
    """What stands over and under one system; columns are those of the staff.

    lengths, counts : marks of the rhythm line, and the number of that line, 0 where there is none.
    labels : lines and columns of parts that begin in the system, and their names.
    endings : numbers of an ending and the columns that its bracket spans.
    accents, vibratos : columns.
    """

    lengths: tuple[LengthMark, ...] = ()
    counts: tuple[CountMark, ...] = ()
    rhythm_line: int = 0
    labels: list[tuple[int, int, str]] = field(default_factory=list)
    endings: list[tuple[frozenset[int], int, int]] = field(default_factory=list)
    accents: list[int] = field(default_factory=list)
    vibratos: list[int] = field(default_factory=list)


def _share(body: str, wanted: str) -> float:
    dense = body.replace(" ", "")
    return sum(character in wanted for character in dense) / len(dense) if dense else 0.0


def _has_words(body: str) -> bool:
    return any(len(set(word.lower())) > 1 for word in _WORD.findall(_AMOUNT_WORD.sub(" ", body)))


def looks_like_string(number: int, text: str) -> StringLine | None:
    """
    The string that a line is, None for a line that is none.

    >>> looks_like_string(1, "e|--5--|").body, looks_like_string(2, "a slow one - with feeling")
    ('|--5--|', None)
    """
    match = _LABEL.match(text)
    if match is None or not text.strip() or _MARKS.match(text):
        return None
    label, edge = match["label"] or "", match["edge"]
    start = match.start("edge") if edge else match.end()
    body = text[start:]
    after_bars = body.rfind("|") + 1
    tail = body[after_bars:] if _TAIL.fullmatch(body, after_bars) and "--" not in body[after_bars:] else ""
    kept = body[:after_bars] if tail else body
    if _has_words(kept):
        return None
    labelled = bool(label) and bool(edge)
    if labelled:
        is_string = _share(kept, "-|=~:0123456789") >= _LABELLED_SHARE and ("-" in kept or len(kept) > 2)
    elif " " in kept.strip():
        is_string = False
    else:
        is_string = _share(kept, "-|=~") >= _BARE_SHARE and kept.count("-") >= 3
    if not is_string:
        return None
    plain = "|" + kept[1:] if edge else kept
    return StringLine(number, label, start, plain.rstrip(), tail.strip())


def _is_surely_string(line: StringLine) -> bool:
    labelled = bool(line.label) and line.body.startswith("|")
    dense = len(line.body) >= _SURE_LENGTH and _share(line.body, "-|") >= _SURE_SHARE
    return (labelled or dense) and any(character.isdigit() for character in line.body)


def _size_of(group: Sequence[StringLine]) -> int:
    """Strings of each system in a run of string lines without a gap, 0 where they make none."""
    count = len(group)
    labels = [line.label for line in group]
    for size in (6, 4, 5, 7, 8):
        if count % size == 0 and _repeats(labels, size):
            return size
    if LEAST_STRINGS <= count <= MOST_STRINGS:
        return count
    return 6 if count % 6 == 0 and not any(labels) else 0


def _repeats(labels: Sequence[str], size: int) -> bool:
    """Whether letters come back every ``size`` lines."""
    return (
        len(labels) > size
        and all(labels)
        and all(label == labels[index % size] for index, label in enumerate(labels))
    )


def _systems_of(group: Sequence[StringLine]) -> list[tuple[StringLine, ...]]:
    size = _size_of(group)
    if size:
        return [tuple(group[index : index + size]) for index in range(0, len(group), size)]
    sure = [line for line in group if _is_surely_string(line)]
    if sure:
        key = "tab.string_lines" if len(group) > 1 else "tab.string_line_alone"
        where = Place(line=sure[0].number)
        raise ReadError(key, where=where, count=len(group), least=LEAST_STRINGS, most=MOST_STRINGS)
    return []


def _groups(lines: Sequence[str]) -> list[list[StringLine]]:
    groups: list[list[StringLine]] = [[]]
    for number, text in enumerate(lines, start=1):
        string = looks_like_string(number, text)
        if string is not None:
            groups[-1].append(string)
        elif groups[-1]:
            groups.append([])
    return [group for group in groups if group]


def _near(texts: dict[int, str], start: int, step: int) -> tuple[NumberedLine, ...]:
    """Lines next to a system, up to the first empty one."""
    found = []
    for number in range(start, start + step * _NEAR_LINES, step):
        if number not in texts:
            break
        found.append((number, texts[number]))
    return tuple(found)


def _same_strings(systems: Sequence[tuple[StringLine, ...]]) -> None:
    usual = Counter(len(system) for system in systems).most_common(1)[0][0] if systems else 0
    for system in systems:
        if len(system) != usual:
            where = Place(line=system[0].number)
            raise ReadError("tab.other_string_count", where=where, count=len(system), usual=usual)


def lay_out(lines: Sequence[str]) -> tuple[list[StringSystem], list[NumberedLine]]:
    """
    The systems of a tab in plain characters, and all its other lines but the empty ones.

    Raises `ReadError`, naming the line of string lines that make no system, or of a system of another number of
    strings.
    """
    systems = [system for group in _groups(lines) for system in _systems_of(group)]
    of_strings = {line.number for system in systems for line in system}
    texts = {number: text for number, text in enumerate(lines, start=1) if number not in of_strings and text.strip()}
    _same_strings(systems)
    above = [_near(texts, system[0].number - 1, -1) for system in systems]
    over_some = {number for lines in above for number, _ in lines}
    free = {number: text for number, text in texts.items() if number not in over_some}
    laid = [
        StringSystem(system, over, _near(free, system[-1].number + 1, 1))
        for system, over in zip(systems, above, strict=True)
    ]
    return laid, list(texts.items())


# -- lines over and under a system -----------------------------------------------------------------------


def _columns(text: str, sign: str, shift: int) -> list[int]:
    return [match.start() + shift for match in re.finditer(rf"{re.escape(sign)}+", text)]


def _read_line(line: NumberedLine, marks: SystemMarks, shift: int, omissions: Omissions) -> None:
    number, text = line
    if not marks.rhythm_line:
        lengths, counts = parse_lengths(text, shift=shift), parse_counts(text, shift=shift)
        if lengths or counts:
            marks.lengths, marks.counts, marks.rhythm_line = lengths or (), counts or (), number
            return
    labels = [(number, column + shift, name) for column, name in part_names(text)]
    if labels:
        marks.labels += labels
    elif _PALM.fullmatch(text):
        omissions.note("palm-mute", Place(line=number))
    elif set(text) <= set("> |"):
        marks.accents += _columns(text, ">", shift)
    elif set(text) <= set("~ |"):
        marks.vibratos += _columns(text, "~", shift)
    elif is_chord_line(text):
        omissions.note("chord-lines", Place(line=number))
    elif _ENDINGS_ONLY.fullmatch(text):
        for match in _ENDING.finditer(text):
            numbers = frozenset(int(digit) for digit in re.findall(r"\d", match["numbers"]))
            marks.endings.append((numbers, match.start() + shift, match.end() + shift))


def marks_of(system: StringSystem, *, shift: int, omissions: Omissions) -> SystemMarks:
    """The marks over and under a system, so many columns further right than in the file."""
    marks = SystemMarks()
    for line in (*system.above, *system.below):
        _read_line(line, marks, shift, omissions)
    return marks

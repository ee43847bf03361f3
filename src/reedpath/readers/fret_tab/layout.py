"""Layout of a tab file: which lines are strings, how they make systems, and what stands around them."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from reedpath.errors import ReadError

__all__ = ["Layout", "StringLine", "System", "TextLine", "lay_out", "looks_like_string"]

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

_LABEL = re.compile(r"\s*(?P<label>[A-Ha-h][#b]?\d?)?\s*(?P<edge>[|:\]])?")
# a line of marks over the strings that looks like a string: palm mute, harmonics, the first of two endings
_MARKS = re.compile(r"\s*(P\.?M|[NAP]\.?H|\d[.)])", re.IGNORECASE)
_WORD = re.compile(r"[A-Za-z]{3,}")
_TAIL = re.compile(r"\s+[^\s-].*|\s*\(?[x*]\s*\d+\)?|\s*\(?\d+\s*[x*]\)?", re.IGNORECASE)
_AMOUNT_WORD = re.compile(r"full|half", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class TextLine:
    """A line that is no string: ``number`` is 1-based."""

    number: int
    text: str


@dataclass(frozen=True, slots=True)
class StringLine:
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


@dataclass(frozen=True, slots=True)
class System:
    """String lines one under another, the lines above them (nearest first) and below."""

    strings: tuple[StringLine, ...]
    above: tuple[TextLine, ...] = ()
    below: tuple[TextLine, ...] = ()

    @property
    def start(self) -> int:
        """Column (0-based) at which the body of the top string begins."""
        return self.strings[0].start

    @property
    def labels(self) -> tuple[str, ...]:
        """Letters before the strings."""
        return tuple(line.label for line in self.strings)


@dataclass(frozen=True, slots=True)
class Layout:
    """The systems of a file in order, and all the other lines."""

    systems: tuple[System, ...]
    texts: tuple[TextLine, ...]


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
        if count == size and not _repeats(labels, 4):
            return size
        if count > size and count % size == 0 and _repeats(labels, size):
            return size
    if LEAST_STRINGS <= count <= MOST_STRINGS:
        return 4 if count == 8 and _repeats(labels, 4) else count
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
        raise ReadError(
            f"{len(group)} string line{'s' if len(group) > 1 else ''} together, of "
            f"{LEAST_STRINGS} to {MOST_STRINGS} allowed",
            where=f"line {sure[0].number}",
            hint="put one line per string, without other lines between, and an empty line between systems",
        )
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


def _near(texts: dict[int, TextLine], start: int, step: int) -> tuple[TextLine, ...]:
    """Lines next to a system, up to the first empty one."""
    found = []
    for number in range(start, start + step * _NEAR_LINES, step):
        line = texts.get(number)
        if line is None or not line.text.strip():
            break
        found.append(line)
    return tuple(found)


def lay_out(lines: Sequence[str]) -> Layout:
    """
    The systems and other lines of a tab in plain characters.

    Raises
    ------
    ReadError
        Naming the line of string lines that make no system, or of a system of another number of strings.
    """
    systems = [system for group in _groups(lines) for system in _systems_of(group)]
    of_strings = {line.number for system in systems for line in system}
    texts = {
        number: TextLine(number, text)
        for number, text in enumerate(lines, start=1)
        if number not in of_strings and text.strip()
    }
    _same_strings(systems)
    above = [_near(texts, system[0].number - 1, -1) for system in systems]
    over_some = {line.number for lines in above for line in lines}
    free = {number: line for number, line in texts.items() if number not in over_some}
    laid = tuple(
        System(system, over, _near(free, system[-1].number + 1, 1))
        for system, over in zip(systems, above, strict=True)
    )
    return Layout(laid, tuple(texts.values()))


def _same_strings(systems: Sequence[tuple[StringLine, ...]]) -> None:
    if not systems:
        return
    usual = Counter(len(system) for system in systems).most_common(1)[0][0]
    for system in systems:
        if len(system) != usual:
            raise ReadError(
                f"a system of {len(system)} strings among systems of {usual}",
                where=f"line {system[0].number}",
                hint="keep one instrument; every string needs its line, even an empty one",
            )

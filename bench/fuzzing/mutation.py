"""Changing an input: its bytes, its lines, its numbers and texts, its trees, its chunks."""

from __future__ import annotations

import io
import json
import random
import re
import struct
import zipfile
import zlib
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Any, TypeAlias

Change: TypeAlias = Callable[[bytes, "Changer"], bytes]

# bytes; larger ones only cost time
MOST_BYTES = 60_000

NUMBERS = (
    "0",
    "-0",
    "1",
    "-1",
    "2",
    "7",
    "12",
    "13",
    "127",
    "128",
    "255",
    "256",
    "-128",
    "999",
    "1000",
    "10000",
    "65535",
    "65536",
    "2147483647",
    "-2147483648",
    "4294967296",
    "9223372036854775807",
    "9223372036854775808",
    "18446744073709551616",
    "1" + "0" * 400,
    "9" * 4_300,
    "8" * 5_000,
    "0." + "3" * 400,
    "0.001",
    "0.0",
    "1e-300",
    "1e300",
    "1e308",
    "1e309",
    "-1e309",
    "1e-5",
    "1e9",
    "NaN",
    "nan",
    "inf",
    "-inf",
    "Infinity",
    "1/0",
    "0/0",
    "1/3",
    "-1/3",
    "999999999999999999/7",
    "1/999999999999999999",
    "1_000",
    "0x10",
    "1e",
    "+5",
    "00012",
    "1,5",
    "٣",
    "²",
    "½",
    "Ⅷ",
    "１２",
    "৩/২",
    "-",
    ".",
    "1.",
    ".5",
    "5.5.5",
)
TEXTS = (
    "",
    " ",
    "\\",
    "AC\\DC riff",
    "\\1",
    "\\g<0>",
    "\\u0000",
    "{0}",
    "{title}",
    "{}",
    "%s",
    "%n",
    "$&",
    "<b>&amp;",
    "]]>",
    "--",
    "<!--",
    "&#0;",
    "&#xD800;",
    "\ud800",
    "\udcff",
    "\x1b[31mred",
    "\x00",
    "\x7f",
    "\x85",
    "\u2028",
    "\u202e",
    "\ufeff",
    "\ufffe",
    "\U0010ffff",
    "x" * 300,
    "x" * 5_000,
    "é" * 300,
    "e\u0301",
    "👩‍👩‍👧",
    "ﷺ",
    "İ",
    "ß",
    "ſ",
    "K",
    "../../etc/passwd",
    "\r\n",
    "\n",
    "\t",
    "'",
    '"',
    '""',
    "`",
    "#",
    "##",
    "♯",
    "b",
    "bb",
    "♭",
    "C#",
    "Cb",
    "B#",
    "H",
    "Low F",
    "High G",
    "la grave",
    "sol majeur",
    "Am",
    "E# minor",
    "F## major",
    "true",
    "null",
    "none",
    "()",
    "(" * 200,
    "[" * 200,
    "{" * 200,
    "a" * 90 + "!",
    "1" * 90 + "x",
    "- - - - - -",
    "|" * 200,
    "=" * 200,
)
# whole numbers of 1, 2, 4 and 8 bytes where programs err
EDGES = (
    0,
    1,
    2,
    3,
    7,
    8,
    16,
    127,
    128,
    255,
    256,
    1000,
    32767,
    32768,
    65535,
    65536,
    0x00FFFFFF,
    0x7FFFFFFF,
    0x80000000,
    0xFFFFFFF0,
    0xFFFFFFFF,
    0x7FFFFFFFFFFFFFFF,
    0xFFFFFFFFFFFFFFFF,
)
FLOATS = (float("nan"), float("inf"), float("-inf"), 1e30, -1e30, 3.4e38, 1e-40, -0.0, 1.0, 2.0)

_NUMBER = re.compile(rb"-?\d+(?:[./]\d+)?(?:[eE][-+]?\d+)?")
_QUOTED = re.compile(rb'"(?:[^"\\\n]|\\.)*"')
_WORD = re.compile(rb"[A-Za-z]{2,}")
_ELEMENT = re.compile(rb"<([A-Za-z][\w-]*)(?: [^<>]*)?(?:/>|>(?:[^<>]*)</\1>)")
_BLOCK = re.compile(rb"<(measure|note|part|attributes|direction|barline)\b.*?</\1>", re.DOTALL)
_NAME = re.compile(rb"[A-Za-z \xa9][A-Za-z0-9 ]{3}")


def encoded(text: str) -> bytes:
    """UTF-8 of a text, halves of pairs as they are."""
    return text.encode("utf-8", "surrogatepass")


class Changer:
    """Draws changes.

    tokens : pieces that mean something to the reader.
    others : inputs that pieces can be taken from.
    """

    def __init__(self, draw: random.Random, tokens: Sequence[bytes], others: Sequence[bytes]) -> None:
        self.draw, self.tokens, self.others = draw, tokens, others

    def number(self) -> bytes:
        draw = self.draw
        if draw.random() < 0.6:
            return draw.choice(NUMBERS).encode()
        return str(
            draw.choice((draw.randint(-3, 300), draw.randint(-(10**6), 10**9), draw.uniform(-2, 400)))
        ).encode()

    def text(self) -> bytes:
        draw = self.draw
        kind = draw.random()
        if kind < 0.6:
            return encoded(draw.choice(TEXTS))
        if kind < 0.8 and self.tokens:
            return draw.choice(self.tokens)
        return encoded(
            "".join(
                chr(draw.choice((32, 65, 97, 160, 0x300, 0x2000, 0x1F600)) + draw.randint(0, 60))
                for _ in range(draw.randint(1, 8))
            )
        )

    def piece(self, data: bytes) -> bytes:
        """A stretch of an input."""
        if not data:
            return b""
        start = self.draw.randrange(len(data))
        return data[start : start + self.draw.choice((1, 2, 4, 8, 16, 40, 200, 1_000))]


def flip(data: bytes, at: Changer) -> bytes:
    changed = bytearray(data)
    for _ in range(at.draw.choice((1, 1, 1, 2, 4, 16))):
        if changed:
            place = at.draw.randrange(len(changed))
            changed[place] = at.draw.choice((changed[place] ^ 1 << at.draw.randrange(8), at.draw.randrange(256)))
    return bytes(changed)


def edge(data: bytes, at: Changer) -> bytes:
    """A number of the machine's in the place of some bytes."""
    if len(data) < 9:
        return data
    if at.draw.random() < 0.2:
        new = struct.pack(at.draw.choice("<>") + at.draw.choice("fd"), at.draw.choice(FLOATS))
    else:
        size = at.draw.choice((1, 2, 4, 4, 8))
        number = at.draw.choice(EDGES) - at.draw.choice((0, 0, 1)) & (1 << 8 * size) - 1
        new = number.to_bytes(size, at.draw.choice(("little", "big")))
    place = at.draw.randrange(len(data) - 8)
    return data[:place] + new + data[place + len(new) :]


def cut(data: bytes, at: Changer) -> bytes:
    start = at.draw.randrange(len(data) + 1)
    return data[:start] if at.draw.random() < 0.2 else data[:start] + data[start + len(at.piece(data)) :]


def put(data: bytes, at: Changer) -> bytes:
    start = at.draw.randrange(len(data) + 1)
    source = at.draw.choice((data, at.draw.choice(at.others) if at.others else data))
    new = at.draw.choice(at.tokens) if at.tokens and at.draw.random() < 0.6 else at.piece(source)
    return data[:start] + new * at.draw.choice((1, 1, 1, 1, 2, 3, 30)) + data[start:]


def join(data: bytes, at: Changer) -> bytes:
    other = at.draw.choice(at.others) if at.others else data
    return data[: at.draw.randrange(len(data) + 1)] + other[at.draw.randrange(len(other) + 1) :]


def _replace(pattern: re.Pattern[bytes], new: Callable[[Changer], bytes]) -> Change:
    def change(data: bytes, at: Changer) -> bytes:
        found = list(pattern.finditer(data))
        if not found:
            return data
        one = at.draw.choice(found)
        return data[: one.start()] + new(at) + data[one.end() :]

    return change


number = _replace(_NUMBER, Changer.number)
word = _replace(_WORD, Changer.text)
quoted = _replace(_QUOTED, lambda at: b'"' + at.text().replace(b'"', b"") + b'"')


def text(data: bytes, at: Changer) -> bytes:
    start = at.draw.randrange(len(data) + 1)
    return data[:start] + at.text() + data[start:]


def lines(data: bytes, at: Changer) -> bytes:
    """A line again, away, elsewhere, or over another."""
    all_lines = data.split(b"\n")
    one, other = at.draw.randrange(len(all_lines)), at.draw.randrange(len(all_lines))
    kept = all_lines[one]
    match at.draw.randrange(5):
        case 0:
            all_lines.insert(other, kept)
        case 1:
            del all_lines[one]
        case 2:
            all_lines[one], all_lines[other] = all_lines[other], kept
        case 3:
            all_lines[other : other + 1] = [kept] * at.draw.choice((2, 10, 200))
        case _:
            place = at.draw.randrange(len(kept) + 1)
            all_lines[one] = kept[:place] + at.text() + kept[place:]
    return b"\n".join(all_lines)


def element(data: bytes, at: Changer) -> bytes:
    """An element of XML again, away, or with something else inside."""
    found = list((_ELEMENT if at.draw.random() < 0.6 else _BLOCK).finditer(data))
    if not found:
        return data
    one, other = at.draw.choice(found), at.draw.choice(found)
    match at.draw.randrange(5):
        case 0:
            return data[: one.start()] + data[one.end() :]
        case 1:
            return data[: other.start()] + one[0] * at.draw.choice((1, 1, 2, 20)) + data[other.start() :]
        case 2:
            return (
                data[: one.start()] + b"<" + one[1] + b">" + at.number() + b"</" + one[1] + b">" + data[one.end() :]
            )
        case 3:
            return data[: one.start()] + other[0] + data[one.end() :]
        case _:
            return data[: one.start()] + b"<" + one[1] + b">" + one[0] + b"</" + one[1] + b">" + data[one.end() :]


def chunk(data: bytes, at: Changer) -> bytes:
    """The size beside the name of a chunk or box, or its name."""
    found = [one for one in _NAME.finditer(data) if 4 <= one.start() < len(data) - 8]
    if not found:
        return data
    one = at.draw.choice(found)
    place = at.draw.choice((one.start() - 4, one.end(), one.end(), one.start()))
    old = int.from_bytes(data[place : place + 4], "little")
    new = at.draw.choice((at.draw.choice(EDGES) & 0xFFFFFFFF, old + at.draw.randint(-9, 9) & 0xFFFFFFFF))
    return data[:place] + new.to_bytes(4, at.draw.choice(("little", "big"))) + data[place + 4 :]


def with_track_lengths(data: bytes) -> bytes:
    """A MIDI file whose chunks say how long they are: as far as the next one, or the end."""
    starts = [one.start() for one in re.finditer(b"MTrk", data)]
    changed = bytearray(data)
    for start, end in pairwise((*starts, len(data))):
        changed[start + 4 : start + 8] = max(0, end - start - 8).to_bytes(4, "big")
    return bytes(changed) if len(changed) == len(data) else data


def tree(data: bytes, at: Changer) -> bytes:
    """Something in a tree of JSON changed, away, again or from elsewhere."""
    try:
        whole = json.loads(data)
    except (ValueError, RecursionError):
        return number(data, at)
    for _ in range(at.draw.choice((1, 1, 2, 4))):
        _change_tree(whole, at)
    return encoded(json.dumps(whole, ensure_ascii=at.draw.random() < 0.5, indent=1))


def _spots(value: Any, found: list[tuple[Any, Any]], depth: int = 0) -> list[tuple[Any, Any]]:
    if depth < 60:
        steps = value if isinstance(value, dict) else range(len(value)) if isinstance(value, list) else ()
        for step in steps:
            found.append((value, step))
            _spots(value[step], found, depth + 1)
    return found


def odd_value(at: Changer, now: Any) -> Any:
    draw = at.draw
    if isinstance(now, bool) or now is None:
        return draw.choice((True, False, None, 0, 1, ""))
    if isinstance(now, (int, float)) and draw.random() < 0.7:
        return draw.choice(
            (
                now + 1,
                now - 1,
                -now,
                now * 2,
                0,
                10**9,
                -(10**9),
                10**30,
                10**400,
                1e-300,
                1e300,
                0.001,
                0.5,
                draw.randint(-3, 200),
                float("nan"),
                127,
                128,
                12,
            )
        )
    if isinstance(now, str) and draw.random() < 0.7:
        return draw.choice(
            (
                at.text().decode("utf-8", "replace"),
                at.number().decode("utf-8", "replace"),
                "\ud800",
                f"{draw.randint(-2, 60)}/{draw.randint(1, 48)}",
            )
        )
    return draw.choice((None, True, 0, -1, 0.5, "", "1/3", [], {}, [[]], [0], {"": None}, [now, now], {"kind": now}))


def _change_tree(whole: Any, at: Changer) -> None:
    spots = _spots(whole, [])
    if not spots:
        return
    draw = at.draw
    inside, step = draw.choice(spots)
    now = inside[step]
    match draw.randrange(6):
        case 0:
            del inside[step]
        case 1 if isinstance(inside, list):
            inside[step:step] = [now] * draw.choice((1, 1, 30))
        case 2:
            other, where = draw.choice(spots)
            inside[step] = json.loads(json.dumps(other[where]))
        case 3 if isinstance(inside, dict):
            inside[draw.choice(("", "midi", "\ud800", "x" * 400, str(step) + "s"))] = now
        case _:
            inside[step] = odd_value(at, now)


def packed(change: Change) -> Change:
    """A change of what is inside a compressed file, or of the file itself."""

    def changed(data: bytes, at: Changer) -> bytes:
        if at.draw.random() < 0.2:
            return at.draw.choice((flip, edge, cut, join))(data, at)
        sink = io.BytesIO()
        try:
            with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(sink, "w", zipfile.ZIP_DEFLATED) as new:
                names = old.namelist()
                turn = at.draw.randrange(len(names))
                for index, name in enumerate(names):
                    inside = old.read(name)
                    new.writestr(name, change(inside, at) if index == turn else inside)
        except (
            zipfile.BadZipFile,
            ValueError,
            OSError,
            NotImplementedError,
            EOFError,
            RuntimeError,
            KeyError,
            zipfile.LargeZipFile,
            IndexError,
            zlib.error,
        ):
            return flip(data, at)
        return sink.getvalue()

    return changed


PLAIN: tuple[Change, ...] = (flip, cut, put, join)
WRITTEN: tuple[Change, ...] = (number, number, word, text, lines, lines, put, cut, join, flip)
MARKED: tuple[Change, ...] = (element, element, element, number, number, quoted, word, text, put, cut, flip)
SETTINGS: tuple[Change, ...] = (number, number, quoted, quoted, word, lines, text, put, cut)
TREES: tuple[Change, ...] = (tree, tree, tree, tree, tree, number, quoted, cut, flip)
CHUNKS: tuple[Change, ...] = (chunk, chunk, edge, edge, flip, cut, put, join)


def changed(data: bytes, changes: Sequence[Change], at: Changer) -> bytes:
    """An input with one to some changes."""
    for _ in range(at.draw.choice((1, 1, 1, 1, 1, 2, 2, 3, 5))):
        data = at.draw.choice(changes)(data, at)
    return data[:MOST_BYTES]

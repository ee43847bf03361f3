"""Tune books: the lines of an ABC file sorted into a file header and tunes (ABC 2.1, section 2)."""

from __future__ import annotations

import html
import re
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

_FIELD = re.compile(r"\s*([A-Za-z+]):\s?(.*)")
_COMMENT = re.compile(r"(?<!\\)%.*")
# letters that begin a field inside a tune body; the others are notes and rests (section 3)
_BODY_FIELDS = frozenset("IKLMmNPQRrsTUVWw+")


@dataclass(frozen=True, slots=True)
class Line:
    """A line without its comment, and its number in the file, from 1."""

    number: int
    text: str


@dataclass(frozen=True, slots=True)
class Tune:
    """One tune.

    reference : its X: number; None when it has none.
    title : its first title.
    header, body : lines; the header ends with the first K: field.
    """

    reference: int | None
    title: str
    header: tuple[Line, ...]
    body: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Tunebook:
    """A file: fields that hold for all tunes, and the tunes.

    strict : whether the file says that it keeps to version 2.1 or a later one (section 12.3).
    """

    strict: bool
    header: tuple[Line, ...]
    tunes: tuple[Tune, ...]


def field_of(line: Line, *, in_body: bool) -> tuple[str, str] | None:
    """Letter and text of a field line, None for another line."""
    match = _FIELD.fullmatch(line.text)
    if match is None or (in_body and match[1] not in _BODY_FIELDS):
        return None
    return match[1], match[2].strip()


def is_strict(text: str) -> bool:
    """Whether a version line ("%abc-2.1", "abc-version 2.1") asks for strict reading."""
    match = re.match(r"(?:%abc-|abc-version\s+)(\d{1,3})\.(\d{1,3})", text)
    return match is not None and (int(match[1]), int(match[2])) >= (2, 1)


def _without_comment(text: str) -> str:
    return text if text.startswith("%%") else _COMMENT.sub("", text).rstrip()


def _paragraphs(lines: Sequence[str]) -> Iterable[list[Line]]:
    """Runs of lines between empty ones, comment lines taken out; X: begins a new one."""
    paragraph: list[Line] = []
    for number, raw in enumerate(lines, start=1):
        if not raw.strip() or raw.startswith("X:"):
            if paragraph:
                yield paragraph
            paragraph = []
        text = _without_comment(raw)
        if text.strip():
            paragraph.append(Line(number, text))
    if paragraph:
        yield paragraph


def _joined_fields(lines: Iterable[Line]) -> list[Line]:
    """Field lines with their continuations (+:) put behind them (section 3.3)."""
    joined: list[tuple[int, list[str]]] = []
    for line in lines:
        if line.text.startswith("+:") and joined:
            joined[-1][1].append(line.text[2:].strip())
        else:
            joined.append((line.number, [line.text]))
    return [Line(number, " ".join(texts)) for number, texts in joined]


def _split_header(lines: list[Line]) -> int:
    """Index of the first body line: after K:, or where the fields stop in a fragment (section 2.3.1)."""
    fields = [field_of(line, in_body=False) for line in lines]
    for index, field in enumerate(fields):
        if field and field[0] == "K":
            return index + 1
    for index, line in enumerate(lines):
        if field_of(line, in_body=index > 0) is None and not line.text.startswith("%%"):
            return index
    return len(lines)


def _reference(text: str) -> int | None:
    match = re.match(r"\d{1,9}", text)
    return int(match[0]) if match else None


def _tune(lines: list[Line]) -> Tune:
    end = _split_header(lines)
    header = _joined_fields(lines[:end])
    fields = [field for line in header if (field := field_of(line, in_body=False))]
    reference = next((_reference(text) for letter, text in fields if letter == "X"), None)
    title = next((decode_string(text) for letter, text in fields if letter == "T" and text), "")
    return Tune(reference, title, tuple(header), tuple(lines[end:]))


def _is_file_header(lines: list[Line]) -> bool:
    return all(line.text.startswith("%%") or field_of(line, in_body=False) for line in lines)


def parse_tunebook(lines: Sequence[str]) -> Tunebook:
    """Sort the lines of an ABC file.

    A text without any X: is taken as one tune or fragment (sections 2.3.1 and 10.5.1). Free text between
    tunes is passed over.
    """
    strict = is_strict(lines[0]) if lines else False
    paragraphs = list(_paragraphs(lines))
    tunes = [part for part in paragraphs if part[0].text.startswith("X:")]
    if not tunes:
        whole = [line for part in paragraphs for line in part]
        return Tunebook(strict, (), (_tune(whole),) if whole else ())
    first = paragraphs[0]
    header = first if first is not tunes[0] and _is_file_header(first) else []
    return Tunebook(strict, tuple(_joined_fields(header)), tuple(_tune(part) for part in tunes))


# combining character of each mnemonic of section 8.2
_ACCENTS = {
    "`": "\u0300",
    "'": "\u0301",
    "^": "\u0302",
    "~": "\u0303",
    '"': "\u0308",
    "c": "\u0327",
    "u": "\u0306",
    "v": "\u030c",
    "H": "\u030b",
}
_LETTERS = {"AA": "Å", "aa": "å", "/O": "Ø", "/o": "ø", "ss": "ß", "AE": "Æ", "ae": "æ", "oe": "œ", "OE": "Œ"}
_ESCAPE = re.compile(
    r"\\(?:u(?P<short>[0-9a-fA-F]{4})|U(?P<long>[0-9a-fA-F]{8})|(?P<letters>AA|aa|/O|/o|ss|AE|ae|oe|OE)"
    r"|(?P<accent>[`'^~\"cuvH])(?P<base>[A-Za-z])|(?P<plain>[\\%&]))"
)


def _unescaped(match: re.Match[str]) -> str:
    if code := match["short"] or match["long"]:
        number = int(code, 16)
        return chr(number) if number <= 0x10FFFF and not 0xD800 <= number < 0xE000 else ""
    if match["letters"]:
        return _LETTERS[match["letters"]]
    if match["accent"]:
        return unicodedata.normalize("NFC", match["base"] + _ACCENTS[match["accent"]])
    return match["plain"]


def decode_string(text: str) -> str:
    r"""A text string with its accents and special characters (section 8.2).

    >>> decode_string("caf\\'e &amp; th\\u00e9")
    'café & thé'
    """
    return html.unescape(_ESCAPE.sub(_unescaped, text)).strip()

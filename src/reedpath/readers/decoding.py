"""Text of a source: bytes to characters, whatever encoding they came in."""

from __future__ import annotations

import codecs
import re

from reedpath.errors import Place, ReadError
from reedpath.readers.limits import Limits

# marks at the start of a text and the encodings they announce (Unicode 15, section 23.8);
# UTF-32 first, for its little-endian mark begins with that of UTF-16
_MARKS = (
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)

# control characters that plain text does not hold: all but tab, line and form feeds, carriage return, and the
# end-of-file mark of old disks
_CONTROLS = re.compile(r"[\x00-\x08\x0e-\x19\x1b-\x1f]")


def _marked_encoding(data: bytes) -> str | None:
    return next((encoding for mark, encoding in _MARKS if data.startswith(mark)), None)


def _bare_utf16(data: bytes) -> str | None:
    """UTF-16 without a mark: mostly Latin letters, so every other byte is zero."""
    head = data[:400]
    if len(head) < 4:
        return None
    even, odd = head[::2].count(0) / len(head[::2]), head[1::2].count(0) / len(head[1::2])
    if odd > 0.6 and even < 0.1:
        return "utf-16-le"
    if even > 0.6 and odd < 0.1:
        return "utf-16-be"
    return None


def _decode_bytewise(data: bytes) -> str:
    try:
        return data.decode("cp1252")
    except UnicodeDecodeError:  # five bytes that Windows-1252 leaves open
        return data.decode("latin-1")


def _place_in(text: str, at: int) -> Place:
    """Line and column of a character."""
    before = text[:at]
    return Place(line=before.count("\n") + 1, column=at - before.rfind("\n"))


def decode_text(data: bytes) -> str:
    """Characters of a text in UTF-8, UTF-16 or UTF-32 (by mark or look), else in Windows-1252 or Latin-1.

    Raises `ReadError` when the bytes are no text: the message names the first byte that is not.
    """
    encoding = _marked_encoding(data) or _bare_utf16(data)
    try:
        text = data.decode(encoding or "utf-8")
    except UnicodeDecodeError as error:
        if encoding:
            raise ReadError(
                "readers.no_text_of_encoding", where=Place(byte=error.start), encoding=encoding, problem=error.reason
            ) from error
        text = _decode_bytewise(data)
    stray = _CONTROLS.search(text)
    if stray:
        where = _place_in(text, stray.start())
        raise ReadError("readers.control_character", where=where, number=ord(stray[0]))
    return text


def looks_like_text(data: bytes) -> bool:
    r"""Whether the start of a source decodes as text.

    >>> looks_like_text(b"e|---5---|"), looks_like_text(b"PK\x03\x04")
    (True, False)
    """
    cuts = (4096,) if len(data) <= 4096 else (4096, 4094)  # a cut may fall inside a UTF-16 character
    for cut in cuts:
        try:
            decode_text(data[:cut])
        except ReadError:
            continue
        return True
    return False


def split_lines(text: str, *, limits: Limits) -> list[str]:
    """Lines of a text without their ends, none too many and none too long."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    limits.check("lines", len(lines), what="lines")
    for number, line in enumerate(lines, start=1):
        limits.check("line_characters", len(line), what="characters", where=Place(line=number))
    return lines

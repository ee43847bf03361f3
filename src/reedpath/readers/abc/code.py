"""Music code: the signs of a line of an ABC tune, one after another (ABC 2.1, sections 4 and 8.1)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from reedpath.errors import Place, ReadError

_LENGTH = r"(\d*)(/*)(\d*)"

# kinds of signs with their parts in groups, in the order in which they are tried
_SIGNS: tuple[tuple[str, str], ...] = (
    ("space", r"[ \t`$\\\x0b\x0c\x1a]+"),
    ("field", r"\[([A-Za-z]):([^\]]*)\]"),
    ("ending", r"\[(\d+(?:[,-]\d+)*)"),
    ("bar", r"\.?((?:\[(?=[|\]])|[|:])(?:[|:\]]|\[(?=[|\]]))*)(\d+(?:[,-]\d+)*)?"),
    ("chord", r"\["),
    ("chord_end", r"\]" + _LENGTH),
    ("grace", r"\{/?"),
    ("grace_end", r"\}"),
    ("tuplet", r"\(([2-9])(?::(\d*))?(?::(\d*))?"),
    ("slur", r"\.?[()]"),
    ("tie", r"\.?-"),
    ("broken", r">+|<+"),
    ("note", r"(\^{1,2}|_{1,2}|=)?([A-Ga-g])([,']*)" + _LENGTH),
    ("rest", r"[zx]" + _LENGTH),
    ("bars_rest", r"[ZX](\d*)"),
    ("spacer", r"y\d*/*\d*"),
    ("text", r'"([^"]*)"'),
    ("decoration", r"!([^!\s|\[\]:]+)!"),
    ("line_end", r"!"),
    ("symbol", r"[~.H-Wh-w]"),
    ("overlay", r"&+"),
    ("reserved", r"[#*;?@]+"),
)
_CODE = re.compile("|".join(f"(?P<{kind}>{pattern})" for kind, pattern in _SIGNS))
_PARTS = {kind: re.compile(pattern) for kind, pattern in _SIGNS}
_PLUS_DECORATION = re.compile(r"\+([^+\s|\[\]:]+)\+")
_PLUS_CHORD = re.compile(r"\+((?:[\^_=]{0,2}[A-Ga-g][,']{0,4}(?:\d{1,3})?(?:/{1,3}\d{0,3})?){1,12})\+")
# kinds that say nothing of what is played
_SILENT = frozenset({"space", "reserved", "spacer", "line_end"})


@dataclass(frozen=True, slots=True)
class Token:
    """One sign.

    kind : as in the table above.
    text : the sign as written.
    parts : its parts.
    line, column : where it stands, from 1.
    """

    kind: str
    text: str
    parts: tuple[str, ...]
    line: int
    column: int

    @property
    def place(self) -> Place:
        """Line and column, for messages."""
        return Place(line=self.line, column=self.column)


def _match(code: str, at: int, *, plus_decorations: bool) -> tuple[str, re.Match[str]] | None:
    if plus_decorations and code[at] == "+":
        match = _PLUS_DECORATION.match(code, at)
        return ("decoration", match) if match else None
    match = _CODE.match(code, at)
    kind = match.lastgroup if match else None
    if match is None or kind is None:
        return None
    parts = _PARTS[kind].match(code, at)
    return (kind, parts) if parts else None


def tokens_of(code: str, *, line: int, strict: bool = True, plus_decorations: bool = False) -> Iterator[Token]:
    """Signs of a line of music code; spaces and reserved characters are passed over.

    strict : refuse a character that means nothing with a ReadError (section 12.3); otherwise it is a token of
        kind "stray", and chords may stand between plus signs as in the oldest files (section 12.1.3).
    plus_decorations : decorations stand between plus signs (section 12.1.2).

    >>> [token.kind for token in tokens_of("|:A2>B [CE]-", line=1)]
    ['bar', 'note', 'broken', 'note', 'chord', 'note', 'note', 'chord_end', 'tie']
    """
    if not strict and not plus_decorations:
        code = _PLUS_CHORD.sub(r"[\1]", code)
    at = 0
    while at < len(code):
        found = _match(code, at, plus_decorations=plus_decorations)
        if found is None:
            stray = Token("stray", code[at], (), line, at + 1)
            if strict:
                raise ReadError("readers.stray_sign", where=stray.place, sign=stray.text)
            yield stray
            at += 1
            continue
        kind, match = found
        if kind not in _SILENT:
            parts = tuple(part or "" for part in match.groups())
            yield Token(kind, match[0], parts, line, at + 1)
        at = match.end()

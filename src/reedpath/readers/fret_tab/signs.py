"""Signs on string lines: what they mean by custom, and what a file's own legend says instead."""

from __future__ import annotations

import re
from collections.abc import Iterable
from enum import StrEnum
from functools import cache

import msgspec

from reedpath.data import read_toml, shipped_text

_FILE = "signs.toml"
# what a sign may be made of in a legend: one to three characters, none of them a digit
_ENTRY = re.compile(
    r"""^\s*["']?(?P<sign>[(<\[{][n#\d]{0,2}[)>\]}]|[^\s\d"'=:,;]{1,3}|=)["']?"""
    r"\s*(?:=>|->|=|:|-+)\s*(?P<meaning>[^=:]{3,60})$"
)
_BRACKETS = re.compile(r"^(?P<open>[(<\[{])[n#\d]*[)>\]}]$")
# "h hammer on": a sign, a blank and some words; prose seldom begins with one character and names a technique
_BARE_ENTRY = re.compile(
    r"""^\s*(?P<sign>[(<\[{][n#\d]{0,2}[)>\]}]|[^\s\w]{1,2}|[^\W\d_]{1,2})\s+(?P<meaning>\D{3,60})$"""
)
_APART = re.compile(r"[,;]|\t|\s{3,}|\s\|\s|\s/\s")


class Technique(StrEnum):
    """What a sign does."""

    HAMMER = "hammer"
    PULL = "pull"
    BEND = "bend"
    PRE_BEND = "pre-bend"
    BEND_RELEASE = "bend-release"
    RELEASE = "release"
    SLIDE = "slide"
    SLIDE_UP = "slide-up"
    SLIDE_DOWN = "slide-down"
    VIBRATO = "vibrato"
    MUTE = "mute"
    TAP = "tap"
    HOLD = "hold"
    TRILL = "trill"
    HARMONIC = "harmonic"
    GHOST = "ghost"
    GRACE = "grace"
    ACCENT = "accent"
    IGNORE = "ignore"


# techniques that brackets can mean
_BRACKETED = (Technique.GHOST, Technique.HARMONIC, Technique.HOLD, Technique.MUTE, Technique.GRACE, Technique.IGNORE)


class TabSigns(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The meaning of each sign.

    signs : sign of one to three characters -> technique.
    brackets : opening bracket -> technique.
    legend : technique -> words that mean it in a legend, in the order in which they are looked for.
    harmonics : frets, and semitones over the open string at which their natural harmonics sound.
    """

    signs: dict[str, Technique]
    brackets: dict[str, Technique]
    legend: dict[Technique, tuple[str, ...]]
    harmonics: tuple[tuple[int, int], ...]

    def at(self, text: str, index: int) -> tuple[str, Technique] | None:
        """The longest sign that stands at an index of a text, and its meaning."""
        for length in (3, 2, 1):
            sign = text[index : index + length]
            if len(sign) == length and sign in self.signs:
                return sign, self.signs[sign]
        return None


def parse_signs(text: str) -> TabSigns:
    """Read a table of signs; SettingsError names file, table and key."""
    return read_toml(text, TabSigns, file=_FILE)


@cache
def customary_signs() -> TabSigns:
    """The signs as custom has them."""
    return parse_signs(shipped_text("reedpath.readers.fret_tab", _FILE))


def _meaning_of(words: str, signs: TabSigns) -> Technique | None:
    lower = words.lower()
    if re.search(r"\bbend.*\breleas", lower):
        return Technique.BEND_RELEASE
    for technique, known in signs.legend.items():
        if any(re.search(rf"\b{re.escape(word)}", lower) for word in known):
            return technique
    return None


def _entries(line: str) -> list[tuple[str, str]]:
    found = []
    for piece in _APART.split(line[:400]):
        match = _ENTRY.match(piece) or _BARE_ENTRY.match(piece)
        if match is not None:
            found.append((match["sign"], match["meaning"]))
    return found


def with_legend(signs: TabSigns, lines: Iterable[str]) -> TabSigns:
    """
    The signs as a file's legend has them, its first word on each.

    Lines such as ``v = vibrato``, ``/ : slide up, x : dead note`` or ``h hammer on`` are entries of a legend.

    >>> with_legend(customary_signs(), ["v = down-stroke", "(n) = tied note"]).signs["v"].value
    'ignore'
    """
    table: dict[str, Technique] = {}
    brackets: dict[str, Technique] = {}
    for line in lines:
        for sign, words in _entries(line):
            technique = _meaning_of(words, signs)
            bracketed = _BRACKETS.match(sign)
            if technique is None:
                continue
            if bracketed and technique in _BRACKETED:
                brackets.setdefault(bracketed["open"], technique)
            elif not bracketed and sign not in ("-", "|") and technique is not Technique.GHOST:
                table.setdefault(sign, technique)
    return msgspec.structs.replace(signs, signs={**signs.signs, **table}, brackets={**signs.brackets, **brackets})

"""Notations: how moves are written, as data files that anybody can read and change.

A notation file is TOML (see ``notations/sign.toml``): a template for each kind of move, further templates
that are read but not written, the marks of a bend, how several holes stand together, and plain substitutes
for characters that a typewriter lacks. The same table drives writing and reading.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from reedpath.errors import SettingsError
from reedpath.harp._data import data_names, data_text, toml_of

__all__ = ["KINDS", "Notation", "load_notation", "notation_names", "parse_notation", "plain_characters"]

# the kinds of move that have templates of their own
KINDS = ("blow", "draw", "overblow", "overdraw")

_FIELDS = {
    "title": str,
    "languages": list,
    "source": str,
    "prior": (int, float),
    "write": dict,
    "read": dict,
    "marks": dict,
    "several": dict,
    "ascii": dict,
}


@dataclass(frozen=True, slots=True)
class Notation:
    """A way of writing moves.

    name : short name, also the file's name.
    title : words for people.
    languages : codes of the languages whose teaching uses it.
    source : where it comes from.
    prior : how usual it is beside the others, 0 to 1; weighs when a notation is guessed.
    write : kind of move and the template that writes it, in the order of `KINDS`.
    read : kind of move and the templates that are read, the written one first.
    bend, dip : mark of one semitone of bend, and of a shallow bend.
    bend_read, dip_read : all marks read so, the written one first.
    chord_open, chord_between, chord_close : what stands before, between and after the holes of a chord.
    split_between : what stands between two holes that the tongue parts.
    bare_joins : characters that join holes outside brackets.
    substitutes : character and its plain substitute.
    """

    name: str
    title: str
    languages: tuple[str, ...]
    source: str
    prior: float
    write: tuple[str, ...]
    read: tuple[tuple[str, ...], ...]
    bend_read: tuple[str, ...]
    dip_read: tuple[str, ...]
    chord_open: str
    chord_between: str
    chord_close: str
    split_between: str
    bare_joins: str
    substitutes: tuple[tuple[str, str], ...]

    @property
    def bend(self) -> str:
        """The mark written for each semitone of a bend."""
        return self.bend_read[0]

    @property
    def dip(self) -> str:
        """The mark written for a shallow bend."""
        return self.dip_read[0]

    @property
    def brackets_join(self) -> bool:
        """Whether brackets hold several holes together (elsewhere they mean the breath)."""
        return bool(self.chord_open)


def _checked(data: Mapping[str, Any], fields: Mapping[str, Any], *, place: str) -> None:
    unknown = sorted(set(data) - set(fields))
    if unknown:
        raise SettingsError(f"unknown key {unknown[0]!r}", where=place, hint=f"the keys are {', '.join(fields)}")
    for key, kind in fields.items():
        if not isinstance(data.get(key), kind):
            raise SettingsError(f"key {key!r} is missing or not of the right kind: {data.get(key)!r}", where=place)


def _strings(value: Any, *, place: str) -> tuple[str, ...]:
    if not isinstance(value, list) or not all(isinstance(item, str) and item for item in value):
        raise SettingsError(f"a list of texts is wanted, not {value!r}", where=place)
    return tuple(value)


def _template(template: str, *, place: str) -> str:
    holders = template.count("{holes}") + template.count("{inside}")
    if holders != 1 or template.count("{marks}") > 1 or template.count("{") != holders + template.count("{marks}"):
        raise SettingsError(
            f"a template holds {{holes}} or {{inside}} once and {{marks}} at most once, unlike {template!r}",
            where=place,
        )
    return template


def _chord_parts(sample: str, *, place: str) -> tuple[str, str, str]:
    opening, found, rest = sample.partition("1")
    between, found_too, rest = rest.partition("2")
    third, found_three, closing = rest.partition("3")
    if not (found and found_too and found_three and between and between == third):
        raise SettingsError(f"the chord of holes 1, 2, 3 must be shown, as in (1 2 3), not {sample!r}", where=place)
    return opening, between, closing


def _split_part(sample: str, *, place: str) -> str:
    if not (len(sample) > 2 and sample.startswith("1") and sample.endswith("4")):
        raise SettingsError(f"the split of holes 1 and 4 must be shown, as in 1/4, not {sample!r}", where=place)
    return sample[1:-1]


def _templates(data: Mapping[str, Any]) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    _checked(data["write"], dict.fromkeys(KINDS, str), place="[write]")
    _checked(data["read"], dict.fromkeys(KINDS, list), place="[read]")
    write = tuple(_template(data["write"][kind], place=f"[write] {kind}") for kind in KINDS)
    read = tuple(
        (
            written,
            *(
                _template(template, place=f"[read] {kind}")
                for template in _strings(data["read"][kind], place=f"[read] {kind}")
            ),
        )
        for kind, written in zip(KINDS, write, strict=True)
    )
    return write, read


def _marks(marks: Mapping[str, Any], name: str) -> tuple[str, ...]:
    if not marks[name]:
        raise SettingsError(f"the mark {name!r} is empty", where="[marks]")
    return (marks[name], *_strings(marks[f"also_{name}"], place=f"[marks] also_{name}"))


def parse_notation(text: str, *, name: str) -> Notation:
    """Read a notation file's text; a SettingsError names the key that does not hold."""
    try:
        return _notation(toml_of(text, error=SettingsError), name=name)
    except SettingsError as error:
        raise error.add_context(f"notation {name!r}") from None


def _notation(data: Mapping[str, Any], *, name: str) -> Notation:
    _checked(data, _FIELDS, place="top of the file")
    write, read = _templates(data)
    marks, several = data["marks"], data["several"]
    _checked(marks, {"bend": str, "also_bend": list, "dip": str, "also_dip": list}, place="[marks]")
    _checked(several, {"chord": str, "split": str, "bare_joins": str}, place="[several]")
    if not 0 < data["prior"] <= 1:
        raise SettingsError(f"key 'prior' lies above 0 and up to 1, unlike {data['prior']!r}")
    opening, between, closing = _chord_parts(several["chord"], place="[several] chord")
    for long, short in data["ascii"].items():
        if not (isinstance(short, str) and short and short.isascii()):
            raise SettingsError(f"the substitute of {long!r} must be ASCII, unlike {short!r}", where="[ascii]")
    return Notation(
        name=name,
        title=data["title"],
        languages=_strings(data["languages"], place="languages"),
        source=data["source"],
        prior=float(data["prior"]),
        write=write,
        read=read,
        bend_read=_marks(marks, "bend"),
        dip_read=_marks(marks, "dip"),
        chord_open=opening,
        chord_between=between,
        chord_close=closing,
        split_between=_split_part(several["split"], place="[several] split"),
        bare_joins=several["bare_joins"],
        substitutes=tuple(data["ascii"].items()),
    )


@cache
def notation_names() -> tuple[str, ...]:
    """Names of the notations that ship with the program.

    >>> "letters-fr" in notation_names()
    True
    """
    return data_names("notations")


@cache
def load_notation(name: str) -> Notation:
    """The shipped notation of that name."""
    if name not in notation_names():
        raise SettingsError(f"no notation is named {name!r}", hint=f"the notations are {', '.join(notation_names())}")
    return parse_notation(data_text(f"notations/{name}.toml"), name=name)


@cache
def plain_characters() -> Mapping[str, str]:
    """How each look-alike character is read: apostrophes, minus signs, brackets, ringed and wide digits."""
    table = toml_of(data_text("characters.toml"), error=SettingsError)
    return {character: meaning for meaning, characters in table.items() for character in characters}

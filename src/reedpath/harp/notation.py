"""Notations: how moves are written, as data files that anybody can read and change.

A notation file is TOML (see ``notations/sign.toml``): a template for each kind of move, further templates
that are read but not written, the marks of a bend, how several holes stand together, and plain substitutes
for characters that a typewriter lacks. The same table drives writing and reading.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Annotated

from msgspec import Meta, Struct

from reedpath.data import read_toml, shipped_text
from reedpath.errors import Place, SettingsError, clean_text
from reedpath.harp.named_texts import named_text, names_in

# the kinds of move that have templates of their own
KINDS = ("blow", "draw", "overblow", "overdraw")


class Notation(Struct, frozen=True):
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


Text = Annotated[str, Meta(min_length=1)]


class _Write(Struct, frozen=True, forbid_unknown_fields=True):
    """For each kind of move, in the order of `KINDS`, the template that writes it."""

    blow: str
    draw: str
    overblow: str
    overdraw: str


class _Read(Struct, frozen=True, forbid_unknown_fields=True):
    """For each kind of move further templates that are read."""

    blow: tuple[Text, ...]
    draw: tuple[Text, ...]
    overblow: tuple[Text, ...]
    overdraw: tuple[Text, ...]


class _Marks(Struct, frozen=True, forbid_unknown_fields=True):
    """Marks of a bend of a semitone and of a shallow one, and further ones that are read."""

    bend: Text
    also_bend: tuple[Text, ...]
    dip: Text
    also_dip: tuple[Text, ...]


class _Several(Struct, frozen=True, forbid_unknown_fields=True):
    """A chord of the holes 1 to 3 and a split of 1 and 4 as they are written; what joins holes without brackets."""

    chord: str
    split: str
    bare_joins: str


class _NotationFile(Struct, frozen=True, forbid_unknown_fields=True):
    """A notation as its file says it."""

    title: str
    languages: tuple[Text, ...]
    source: str
    prior: Annotated[float, Meta(gt=0, le=1)]
    write: _Write
    read: _Read
    marks: _Marks
    several: _Several
    ascii: dict[Text, Text]


def _checked(template: str, field: str) -> str:
    holders, marks = template.count("{holes}") + template.count("{inside}"), template.count("{marks}")
    if holders != 1 or marks > 1 or {template.count("{"), template.count("}")} != {holders + marks}:
        raise SettingsError("harp.template", where=Place(field=field), template=template)
    return template


def _templates(data: _NotationFile) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    write = tuple(_checked(getattr(data.write, kind), f"write.{kind}") for kind in KINDS)
    also = (tuple(_checked(template, f"read.{kind}") for template in getattr(data.read, kind)) for kind in KINDS)
    return write, tuple((written, *more) for written, more in zip(write, also, strict=True))


def _chord_parts(sample: str) -> tuple[str, str, str]:
    opening, found, rest = sample.partition("1")
    between, found_too, rest = rest.partition("2")
    third, found_three, closing = rest.partition("3")
    if not (found and found_too and found_three and between and between == third):
        raise SettingsError("harp.chord_sample", where=Place(field="several.chord"), sample=sample)
    return opening, between, closing


def _split_part(sample: str) -> str:
    if not (len(sample) > 2 and sample.startswith("1") and sample.endswith("4")):
        raise SettingsError("harp.split_sample", where=Place(field="several.split"), sample=sample)
    return sample[1:-1]


def parse_notation(text: str, *, name: str) -> Notation:
    """Read a notation file's text; a SettingsError names the field that does not hold."""
    file = f"{name}.toml"
    data = read_toml(text, _NotationFile, file=file)
    try:
        return _notation(data, name=name)
    except SettingsError as error:
        raise error.inside(Place(file=file)) from None


def _notation(data: _NotationFile, *, name: str) -> Notation:
    write, read = _templates(data)
    opening, between, closing = _chord_parts(data.several.chord)
    for long, short in data.ascii.items():
        if not short.isascii():
            raise SettingsError("harp.no_ascii", where=Place(field=f"ascii.{long}"), text=short)
    return Notation(
        name=name,
        title=clean_text(data.title),
        languages=data.languages,
        source=data.source,
        prior=data.prior,
        write=write,
        read=read,
        bend_read=(data.marks.bend, *data.marks.also_bend),
        dip_read=(data.marks.dip, *data.marks.also_dip),
        chord_open=opening,
        chord_between=between,
        chord_close=closing,
        split_between=_split_part(data.several.split),
        bare_joins=data.several.bare_joins,
        substitutes=tuple(data.ascii.items()),
    )


@cache
def notation_names() -> tuple[str, ...]:
    """Names of the notations that ship with the program.

    >>> "letters-fr" in notation_names()
    True
    """
    return names_in("notations")


@cache
def load_notation(name: str) -> Notation:
    """The notation of that name, shipped or added."""
    return parse_notation(
        named_text("notations", name, unknown="harp.unknown_notation", error=SettingsError), name=name
    )


@cache
def plain_characters() -> Mapping[str, str]:
    """How each look-alike character is read: apostrophes, minus signs, brackets, ringed and wide digits."""
    table = read_toml(shipped_text("reedpath.harp", "characters.toml"), dict[str, str], file="characters.toml")
    return {character: meaning for meaning, characters in table.items() for character in characters}

"""Where something stands: in which file, bar, line, byte or field. A value, so that every language can say it."""

from __future__ import annotations

from msgspec import Struct
from msgspec.structs import replace


class Place(Struct, frozen=True, omit_defaults=True):
    """Where in a source or a data file; only what is known is given, and all of it is told, the widest first.

    file : name of a file, or of a file inside it after a comma.
    part : name of a part or voice of a score.
    tune, last_tune : number of a tune of a tune book, and of the last one of a row of them.
    track, channel : of a MIDI file, from 1.
    bar : number of a bar as printed, 0 for the pickup; a text where the source numbers bars in words.
    beat : within the source, from 1.
    line, column : of a text, from 1.
    byte : offset in a file, from 0.
    seconds : within a recording.
    hole : of a harp, from 1.
    field : of structured data, with dots and brackets ("events[3].midi").
    """

    file: str = ""
    part: str = ""
    tune: int | None = None
    last_tune: int | None = None
    track: int | None = None
    channel: int | None = None
    bar: int | str | None = None
    beat: float | None = None
    line: int | None = None
    column: int | None = None
    byte: int | None = None
    seconds: float | None = None
    hole: int | None = None
    field: str = ""

    def __bool__(self) -> bool:
        return self != NOWHERE

    def inside(self, wider: Place) -> Place:
        """
        The place within a wider one: files and fields that both name are joined, of all else the narrower one counts.

        >>> Place(field="blow[3]").inside(Place(file="mine.toml", field="reeds")).known
        (('file', 'mine.toml'), ('field', 'reeds.blow[3]'))
        """
        known = dict(self.known)
        if self.file and wider.file:
            known["file"] = f"{wider.file}, {self.file}"
        if self.field and wider.field:
            dot = "" if self.field.startswith("[") else "."
            known["field"] = f"{wider.field}{dot}{self.field}"
        return replace(wider, **known)

    @property
    def known(self) -> tuple[tuple[str, str | float], ...]:
        """Name and value of each thing that is known, the widest first."""
        named = ((name, getattr(self, name)) for name in self.__struct_fields__)
        return tuple((name, value) for name, value in named if value is not None and value != "")


NOWHERE = Place()

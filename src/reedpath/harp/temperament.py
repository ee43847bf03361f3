"""Temperaments: how far each note lies from equal temperament, as data files anybody can write.

A temperament file is TOML, with either of::

    cents_off_equal = [0, 2, ...]   # twelve numbers, one for each semitone above the key note
    [ratios]                        # semitones above the key note = frequency ratio to it;
    4 = "5/4"                       # a step that is not given stays equal
"""

from __future__ import annotations

import re
from functools import cache
from typing import Annotated

from msgspec import Meta, Struct
from msgspec.structs import force_setattr

from reedpath.data import read_toml
from reedpath.errors import Place, TuningError, clean_text
from reedpath.harp.named_texts import named_text, names_in
from reedpath.pitch import ratio_to_cents

# cents that a step may lie from its semitone: beyond half a semitone it would be another step's note
MOST_CENTS_OFF = 50.0
# steps of a semitone in an octave; definition
STEPS = 12
# most digits read of a ratio's terms; the Scala format asks for 2**31 - 1 at least, its archive goes to 21 digits
MOST_DIGITS = 30
# cents that a step lies from its semitone
CentsOff = Annotated[float, Meta(ge=-MOST_CENTS_OFF, le=MOST_CENTS_OFF)]

_RATIO = re.compile(rf"\s*([0-9]{{1,{MOST_DIGITS}}})\s*/\s*([0-9]{{1,{MOST_DIGITS}}})\s*")


class Temperament(Struct, frozen=True):
    """Cents off equal temperament for each of the twelve steps above the harp's key note.

    name : short name.
    cents : twelve numbers; step 0 is the key note.
    source : where the numbers come from.
    title : words for people.
    """

    name: str
    cents: Annotated[tuple[CentsOff, ...], Meta(min_length=STEPS, max_length=STEPS)]
    source: str = ""
    title: str = ""

    def __post_init__(self) -> None:
        for field in ("name", "title", "source"):
            force_setattr(self, field, clean_text(getattr(self, field)))
        if len(self.cents) != STEPS:
            raise TuningError("harp.step_count", count=len(self.cents), steps=STEPS)
        for step, cents in enumerate(self.cents):
            if not abs(cents) <= MOST_CENTS_OFF:
                raise TuningError("harp.step_off", step=step, cents=round(cents, 2), most=MOST_CENTS_OFF)


EQUAL = Temperament("equal", (0.0,) * STEPS, "definition", "equal temperament")


def ratio_cents(text: str) -> float:
    """Cents of a ratio written "5/4"; ValueError where it is none."""
    match = _RATIO.fullmatch(text)
    upper, lower = (int(match[1]), int(match[2])) if match else (0, 0)
    if not (upper and lower):
        raise ValueError(text)
    return ratio_to_cents(upper / lower)


class _TemperamentFile(Struct, frozen=True, forbid_unknown_fields=True):
    """A temperament as its file says it, one way or the other."""

    title: str = ""
    source: str = ""
    cents_off_equal: tuple[float, ...] | None = None
    ratios: dict[str, str | float] | None = None


def _cents_of_ratios(ratios: dict[str, str | float]) -> tuple[float, ...]:
    cents = [0.0] * STEPS
    for step, ratio in ratios.items():
        place = Place(field=f"ratios.{step}")
        if step not in map(str, range(STEPS)):
            raise TuningError("harp.no_step", where=place, last=STEPS - 1)
        try:
            cents[int(step)] = ratio_cents(str(ratio)) - 100.0 * int(step)
        except ValueError as error:
            raise TuningError("harp.no_ratio", where=place, text=str(ratio)) from error
    return tuple(cents)


def parse_temperament(text: str, *, name: str) -> Temperament:
    """Read a temperament file's text; a TuningError names the field and the step that do not hold.

    >>> round(parse_temperament('ratios = {4 = "5/4"}', name="mine").cents[4], 2)
    -13.69
    """
    data = read_toml(text, _TemperamentFile, file="", error=TuningError)
    if (data.cents_off_equal is None) == (data.ratios is None):
        raise TuningError("harp.cents_or_ratios")
    cents = _cents_of_ratios(data.ratios or {}) if data.cents_off_equal is None else data.cents_off_equal
    return Temperament(name, cents, data.source, data.title or name)


@cache
def temperament_names() -> tuple[str, ...]:
    """Names of the temperaments that ship with the program, equal temperament first."""
    return names_in("temperaments")


@cache
def load_temperament(name: str) -> Temperament:
    """The temperament of that name, shipped or added.

    >>> round(load_temperament("7-limit-second").cents[5], 2)
    -29.22
    """
    text = named_text("temperaments", name, unknown="harp.unknown_temperament", error=TuningError)
    return parse_temperament(text, name=name)

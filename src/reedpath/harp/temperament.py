"""Temperaments: how far each note lies from equal temperament, as data files anybody can write.

A temperament file is TOML, with either of::

    cents_off_equal = [0, 2, ...]   # twelve numbers, one for each semitone above the key note
    [ratios]                        # semitones above the key note = frequency ratio to it;
    4 = "5/4"                       # a step that is not given stays equal
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from typing import Any

from reedpath.errors import TuningError
from reedpath.harp._data import data_names, data_text, toml_of
from reedpath.pitch import ratio_to_cents

__all__ = ["EQUAL", "Temperament", "load_temperament", "parse_temperament", "temperament_names"]

# cents that a step may lie from its semitone: beyond half a semitone it would be another step's note
MOST_CENTS_OFF = 50.0
# steps of a semitone in an octave; definition
STEPS = 12
# most digits read of a ratio's terms; the Scala format asks for 2**31 - 1 at least, its archive goes to 21 digits
MOST_DIGITS = 30

_RATIO = re.compile(rf"\s*([0-9]{{1,{MOST_DIGITS}}})\s*/\s*([0-9]{{1,{MOST_DIGITS}}})\s*")


@dataclass(frozen=True, slots=True)
class Temperament:
    """Cents off equal temperament for each of the twelve steps above the harp's key note.

    name : short name.
    cents : twelve numbers; step 0 is the key note.
    source : where the numbers come from.
    title : words for people.
    """

    name: str
    cents: tuple[float, ...]
    source: str = ""
    title: str = ""

    def __post_init__(self) -> None:
        if len(self.cents) != STEPS:
            raise TuningError(f"a temperament gives {STEPS} steps, not {len(self.cents)}")
        for step, cents in enumerate(self.cents):
            if not abs(cents) <= MOST_CENTS_OFF:
                raise TuningError(
                    f"{cents:.2f} cents off equal temperament; up to {MOST_CENTS_OFF:g} either way is read",
                    where=f"step {step}",
                )


EQUAL = Temperament("equal", (0.0,) * STEPS, "definition", "equal temperament")


def ratio_cents(text: str) -> float:
    """Cents of a ratio written "5/4"; ValueError where it is none."""
    match = _RATIO.fullmatch(text)
    upper, lower = (int(match[1]), int(match[2])) if match else (0, 0)
    if not (upper and lower):
        raise ValueError(text)
    return ratio_to_cents(upper / lower)


def _cents_listed(listed: Any) -> list[float]:
    if not isinstance(listed, list) or len(listed) != STEPS:
        raise TuningError(f"a list of {STEPS} numbers is wanted, not {listed!r:.80}", where="field 'cents_off_equal'")
    for step, cents in enumerate(listed):
        if isinstance(cents, bool) or not isinstance(cents, int | float):
            raise TuningError(f"{cents!r:.80} is no number", where=f"field 'cents_off_equal', step {step}")
    return [float(cents) for cents in listed]


def _cents_of_ratios(ratios: Any) -> list[float]:
    if not isinstance(ratios, dict):
        raise TuningError("a table is wanted", where="field 'ratios'", hint='write 4 = "5/4" under [ratios]')
    cents = [0.0] * STEPS
    for key, ratio in ratios.items():
        if key not in map(str, range(STEPS)):
            raise TuningError(f"{key!r} is no step; steps are 0 to {STEPS - 1}", where="field 'ratios'")
        try:
            cents[int(key)] = ratio_cents(ratio) - 100.0 * int(key)
        except (TypeError, ValueError) as error:
            raise TuningError(
                f"{ratio!r:.80} is no ratio", where=f"field 'ratios', step {key}", hint='write "5/4"'
            ) from error
    return cents


def parse_temperament(text: str, *, name: str) -> Temperament:
    """Read a temperament file's text; a TuningError names the field and the step that do not hold.

    >>> round(parse_temperament('ratios = {4 = "5/4"}', name="mine").cents[4], 2)
    -13.69
    """
    data = toml_of(text, error=TuningError)
    fields = ("title", "source", "cents_off_equal", "ratios")
    unknown = sorted(set(data) - set(fields))
    if unknown:
        raise TuningError("there is no such field", where=f"field {unknown[0]!r}", hint=f"use {', '.join(fields)}")
    for field in ("title", "source"):
        if not isinstance(data.get(field, ""), str):
            raise TuningError(f"words are wanted, not {data[field]!r:.80}", where=f"field {field!r}")
    if ("cents_off_equal" in data) == ("ratios" in data):
        raise TuningError("give either cents_off_equal or ratios")
    cents = _cents_of_ratios(data["ratios"]) if "ratios" in data else _cents_listed(data["cents_off_equal"])
    return Temperament(name, tuple(cents), data.get("source", ""), data.get("title", name))


@cache
def temperament_names() -> tuple[str, ...]:
    """Names of the temperaments that ship with the program, equal temperament first."""
    return tuple(sorted(data_names("temperaments"), key=lambda name: name != "equal"))


@cache
def load_temperament(name: str) -> Temperament:
    """The shipped temperament of that name.

    >>> round(load_temperament("7-limit-second").cents[5], 2)
    -29.22
    """
    if name not in temperament_names():
        raise TuningError(
            f"no temperament is named {name!r}", hint=f"the temperaments are {', '.join(temperament_names())}"
        )
    return parse_temperament(data_text(f"temperaments/{name}.toml"), name=name)

"""Screens: what stands where in a frame, read from ``film.toml``."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

from reedpath.errors import SettingsError

__all__ = ["Screen", "Zone", "load_screen", "parse_screen", "screen_names"]

FILE = "film.toml"


@dataclass(frozen=True, slots=True)
class Zone:
    """A rectangle of the frame, pixels; all four are even."""

    left: int
    top: int
    right: int
    bottom: int

    @property
    def width(self) -> int:
        """Pixels across."""
        return self.right - self.left

    @property
    def height(self) -> int:
        """Pixels down."""
        return self.bottom - self.top

    def meets(self, other: Zone) -> bool:
        """Whether two zones share a pixel."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )


@dataclass(frozen=True, slots=True)
class Screen:
    """One way to lay a frame out; lengths are pixels, each explained in ``film.toml``."""

    name: str
    width: int
    height: int
    head: Zone
    ribbon: Zone
    harp: Zone
    now: Zone
    caption: Zone
    comb_at: int
    row: float
    ahead_seconds: float
    head_text: float
    caption_text: float
    caption_lines: int
    now_row: float
    words_text: float
    next_moves: int


_ZONES = ("head", "ribbon", "harp", "now", "caption")
_NUMBERS = tuple(one.name for one in fields(Screen) if one.name not in ("name", "width", "height", *_ZONES))
_WHOLE = ("comb_at", "caption_lines", "next_moves")


def _zone(value: object, key: str, where: str, size: tuple[int, int]) -> Zone:
    numbers = value if isinstance(value, list) else []
    if len(numbers) != 4 or any(not isinstance(one, int) or isinstance(one, bool) or one % 2 for one in numbers):
        raise SettingsError(f"{value!r} should be four even whole numbers", where=f"{where}, '{key}'")
    zone = Zone(*numbers)
    if not (0 <= zone.left < zone.right <= size[0] and 0 <= zone.top < zone.bottom <= size[1]):
        raise SettingsError(
            f"{value!r} should lie inside the frame of {size[0]} x {size[1]} pixels", where=f"{where}, '{key}'"
        )
    return zone


def _number(value: object, key: str, where: str) -> float:
    whole = key in _WHOLE
    if isinstance(value, bool) or not isinstance(value, int if whole else int | float) or not value > 0:
        kind = "a whole number" if whole else "a number"
        raise SettingsError(f"{value!r} should be {kind} over 0", where=f"{where}, '{key}'")
    return value


def parse_screen(name: str, data: Mapping[str, Any]) -> Screen:
    """The screen of that name from the data of ``film.toml``."""
    table, where = dict(data["screens"][name]), f"{FILE}, [screens.{name}]"
    table.pop("source", None)
    known = {"size", *_ZONES, *_NUMBERS}
    for key in sorted(known ^ set(table)):
        raise SettingsError(f"{'unknown' if key in table else 'missing'} key '{key}'", where=where)
    size = table["size"]
    if not isinstance(size, list) or len(size) != 2 or any(not isinstance(one, int) or one % 2 for one in size):
        raise SettingsError(f"{size!r} should be two even whole numbers", where=f"{where}, 'size'")
    zones = {key: _zone(table[key], key, where, (size[0], size[1])) for key in _ZONES}
    for index, key in enumerate(_ZONES):
        for other in _ZONES[index + 1 :]:
            if zones[key].meets(zones[other]):
                raise SettingsError(f"it overlaps '{other}'", where=f"{where}, '{key}'")
    numbers: dict[str, Any] = {key: _number(table[key], key, where) for key in _NUMBERS}
    if numbers["comb_at"] % 2 or not numbers["comb_at"] < zones["ribbon"].width:
        raise SettingsError(
            f"{numbers['comb_at']} should be even and inside the ribbon", where=f"{where}, 'comb_at'"
        )
    return Screen(name=name, width=size[0], height=size[1], **zones, **numbers)


@cache
def _data() -> Mapping[str, Any]:
    return MappingProxyType(tomllib.loads((files("reedpath.film") / FILE).read_text(encoding="utf-8")))


@cache
def screen_names() -> tuple[str, ...]:
    """Names of the screens: landscape, upright."""
    return tuple(_data()["screens"])


@cache
def load_screen(name: str) -> Screen:
    """
    The screen of that name.

    >>> load_screen("upright").height
    1280
    """
    if name not in screen_names():
        raise SettingsError(f"no screen is named {name!r}", hint=f"the screens are {', '.join(screen_names())}")
    return parse_screen(name, _data())

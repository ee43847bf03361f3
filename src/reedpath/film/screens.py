"""Screens: what stands where in a frame, read from ``film.toml``."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
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

    def holds(self, other: Zone) -> bool:
        """Whether the other zone lies inside this one."""
        return (
            self.left <= other.left
            and other.right <= self.right
            and self.top <= other.top
            and other.bottom <= self.bottom
        )

    def scaled(self, across: float, down: float) -> Zone:
        """The zone of a frame so much wider and higher."""
        return Zone(
            _even(self.left * across), _even(self.top * down), _even(self.right * across), _even(self.bottom * down)
        )


def _even(pixels: float) -> int:
    return round(pixels / 2) * 2


@dataclass(frozen=True, slots=True)
class Screen:
    """One way to lay a frame out; lengths are pixels, each explained in ``film.toml``.

    harp, caption : None where the screen has none.
    picture : where the teacher's film stands.
    plate : what is laid over the teacher's film where the screen is drawn on it; all other zones lie in it.
    """

    name: str
    width: int
    height: int
    head: Zone
    ribbon: Zone
    now: Zone
    comb_at: int
    row: float
    ahead_seconds: float
    head_text: float
    now_row: float
    words_text: float
    next_moves: int
    caption_text: float = 0.0
    caption_lines: int = 0
    harp: Zone | None = None
    caption: Zone | None = None
    picture: Zone | None = None
    plate: Zone | None = None

    def fitted(self, width: int, height: int) -> Screen:
        """The screen in a frame of another size: letters and rows as its height asks, zones as both do."""
        across, down = width / self.width, height / self.height
        zones = {key: zone.scaled(across, down) for key in _ZONES if (zone := getattr(self, key)) is not None}
        lengths = {key: getattr(self, key) * down for key in _LENGTHS}
        return replace(self, width=width, height=height, comb_at=_even(self.comb_at * across), **zones, **lengths)


_NEEDED = ("head", "ribbon", "now")
_ZONES = (*_NEEDED, "harp", "caption", "picture", "plate")
_CAPTION_NUMBERS = ("caption_text", "caption_lines")
_NUMBERS = ("comb_at", "row", "ahead_seconds", "head_text", "now_row", "words_text", "next_moves")
_LENGTHS = ("row", "head_text", "now_row", "words_text", "caption_text")
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


def _check_keys(table: Mapping[str, Any], where: str) -> tuple[str, ...]:
    """Every key that is needed and none that means nothing; the keys of numbers."""
    numbers = _NUMBERS + (_CAPTION_NUMBERS if "caption" in table else ())
    needed = {"size", *_NEEDED, *numbers}
    for key in sorted(needed - set(table)):
        raise SettingsError(f"missing key '{key}'", where=where)
    for key in sorted(set(table) - needed - set(_ZONES)):
        raise SettingsError(f"unknown key '{key}'", where=where)
    return numbers


def _check_places(zones: Mapping[str, Zone], where: str) -> None:
    drawn = [key for key in zones if key != "plate"]
    for index, key in enumerate(drawn):
        for other in drawn[index + 1 :]:
            if zones[key].meets(zones[other]):
                raise SettingsError(f"it overlaps '{other}'", where=f"{where}, '{key}'")
        if "plate" in zones and not zones["plate"].holds(zones[key]):
            raise SettingsError("it should lie on the plate", where=f"{where}, '{key}'")


def parse_screen(name: str, data: Mapping[str, Any]) -> Screen:
    """The screen of that name from the data of ``film.toml``."""
    table, where = dict(data["screens"][name]), f"{FILE}, [screens.{name}]"
    table.pop("source", None)
    number_keys = _check_keys(table, where)
    size = table["size"]
    if not isinstance(size, list) or len(size) != 2 or any(not isinstance(one, int) or one % 2 for one in size):
        raise SettingsError(f"{size!r} should be two even whole numbers", where=f"{where}, 'size'")
    zones = {key: _zone(table[key], key, where, (size[0], size[1])) for key in _ZONES if key in table}
    _check_places(zones, where)
    numbers: dict[str, Any] = {key: _number(table[key], key, where) for key in number_keys}
    if numbers["comb_at"] % 2 or not numbers["comb_at"] < zones["ribbon"].width:
        raise SettingsError(f"{numbers['comb_at']} should be even and inside the ribbon", where=f"{where}, 'comb_at'")
    placed: dict[str, Any] = dict(zones)
    return Screen(name=name, width=size[0], height=size[1], **placed, **numbers)


@cache
def _data() -> Mapping[str, Any]:
    return MappingProxyType(tomllib.loads((files("reedpath.film") / FILE).read_text(encoding="utf-8")))


@cache
def screen_names() -> tuple[str, ...]:
    """Names of all screens."""
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

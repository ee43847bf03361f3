"""Screens: what stands where in a frame, read from ``film.toml``."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from itertools import combinations
from typing import Annotated, Any

from msgspec import Meta, Struct, structs

from reedpath.data import from_plain, read_toml, shipped_text
from reedpath.errors import Place, SettingsError

FILE = "film.toml"

# pixels of a place; even, since the colours of a film have half the pixels of its light
Even = Annotated[int, Meta(ge=0, multiple_of=2)]
Length = Annotated[float, Meta(gt=0, le=10_000)]
Number = Annotated[int, Meta(gt=0, le=100)]


class Zone(Struct, frozen=True, array_like=True, forbid_unknown_fields=True):
    """A rectangle of the frame, pixels."""

    left: Even
    top: Even
    right: Even
    bottom: Even

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


class Screen(Struct, frozen=True, forbid_unknown_fields=True):
    """One way to lay a frame out; lengths are pixels, each explained in ``film.toml``.

    size : width and height of the frame.
    harp, caption : None where the screen has none.
    words_lines : lines that the words of the sounding move may take.
    tab_rows : rows of the tab that stands where the captions do while nothing is said; 0 for none.
    picture : where the teacher's film stands.
    plate : what is laid over the teacher's film where the screen is drawn on it; all other zones lie in it.
    """

    size: tuple[Even, Even]
    head: Zone
    ribbon: Zone
    now: Zone
    comb_at: Annotated[int, Meta(gt=0, multiple_of=2)]
    row: Length
    ahead_seconds: Length
    head_text: Length
    now_row: Length
    words_text: Length
    next_moves: Number
    caption_text: Annotated[float, Meta(ge=0, le=10_000)] = 0.0
    caption_lines: Annotated[int, Meta(ge=0, le=100)] = 0
    words_lines: Annotated[int, Meta(ge=1, le=10)] = 2
    tab_rows: Annotated[int, Meta(ge=0, le=10)] = 0
    harp: Zone | None = None
    caption: Zone | None = None
    picture: Zone | None = None
    plate: Zone | None = None
    source: str = ""

    @property
    def width(self) -> int:
        """Pixels across."""
        return self.size[0]

    @property
    def height(self) -> int:
        """Pixels down."""
        return self.size[1]

    @property
    def zones(self) -> dict[str, Zone]:
        """The zones that there are, by the names of their fields."""
        named = {name: getattr(self, name) for name in self.__struct_fields__}
        return {name: zone for name, zone in named.items() if isinstance(zone, Zone)}

    def fitted(self, width: int, height: int) -> Screen:
        """The screen in a frame of another size: letters and rows as its height asks, zones as both do."""
        across, down = width / self.width, height / self.height
        zones = {name: zone.scaled(across, down) for name, zone in self.zones.items()}
        lengths = {name: getattr(self, name) * down for name in _LENGTHS}
        return structs.replace(self, size=(width, height), comb_at=_even(self.comb_at * across), **zones, **lengths)


_LENGTHS = ("row", "head_text", "now_row", "words_text", "caption_text")


class _ScreensFile(Struct, frozen=True, forbid_unknown_fields=True):
    screens: dict[str, dict[str, Any]]


def _check(screen: Screen, screen_place: Place) -> None:
    """Raise SettingsError for zones that cannot stand together."""

    def place(field: str) -> Place:
        return Place(field=field).inside(screen_place)

    frame, zones = Zone(0, 0, *screen.size), screen.zones
    for name, zone in zones.items():
        if not frame.holds(zone) or zone.width <= 0 or zone.height <= 0:
            raise SettingsError("film.zone_outside", where=place(name), width=screen.width, height=screen.height)
        if screen.plate is not None and not screen.plate.holds(zone):
            raise SettingsError("film.zone_off_plate", where=place(name))
    for name, other in combinations((name for name in zones if name != "plate"), 2):
        if zones[name].meets(zones[other]):
            raise SettingsError("film.zones_overlap", where=place(name), other=other)
    if screen.comb_at >= screen.ribbon.width:
        raise SettingsError("film.comb_outside", where=place("comb_at"), pixels=screen.comb_at)
    for name in ("caption_text", "caption_lines") if screen.caption is not None else ():
        if not getattr(screen, name):
            raise SettingsError("data.missing", where=place(name))


def parse_screens(text: str) -> Mapping[str, Screen]:
    """The screens of ``film.toml`` by name."""
    screens = {}
    for name, table in read_toml(text, _ScreensFile, file=FILE).screens.items():
        place = Place(file=FILE, field=f"screens.{name}")
        screens[name] = from_plain(table, Screen, error=SettingsError, where=place)
        _check(screens[name], place)
    return screens


@cache
def _screens() -> Mapping[str, Screen]:
    return parse_screens(shipped_text("reedpath.film", FILE))


def screen_names() -> tuple[str, ...]:
    """Names of all screens."""
    return tuple(_screens())


def load_screen(name: str) -> Screen:
    """The screen of that name.

    >>> load_screen("upright").height
    1280
    """
    if name not in _screens():
        raise SettingsError("film.unknown_screen", name=name, known=screen_names())
    return _screens()[name]

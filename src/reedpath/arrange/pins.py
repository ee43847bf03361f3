"""Pins: the person's word on an event, this move or not this one, and what keeps such words from being kept."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from reedpath.arrange.bringing_in import plays
from reedpath.data.numbers import Index
from reedpath.errors import ReedpathError, SettingsError
from reedpath.harp import Move, Tuning, check_move, format_move


class Pin(Struct, frozen=True, omit_defaults=True):
    """A person's word on one event.

    event : its index in the performed phrase.
    move : the move it is about; its embouchure is not asked.
    either : further moves that will do as well, or are not to be played either.
    avoid : whether the event is to be played otherwise, rather than so.
    """

    event: Index
    move: Move
    either: tuple[Move, ...] = ()
    avoid: bool = False

    @property
    def moves(self) -> tuple[Move, ...]:
        """All the moves it is about."""
        return (self.move, *self.either)

    def is_about(self, move: Move | None) -> bool:
        """Whether a move is one of those it is about."""
        return any(plays(move, one) for one in self.moves)


def check_pins(pins: Sequence[Pin], tuning: Tuning, count: int) -> None:
    """
    Raise an error for a pin that no route of ``count`` events on a harp of that tuning can keep.

    Raises `SettingsError` for an event that is not there, a move that the harp does not have, and two pins that
    exclude each other.
    """
    kept: dict[int, Pin] = {}
    for pin in pins:
        if not 0 <= pin.event < count:
            raise SettingsError("arrange.no_event", number=pin.event + 1, count=count)
        for move in pin.moves:
            _must_exist(move, tuning)
        if pin.avoid:
            continue
        other = kept.setdefault(pin.event, pin)
        if not any(map(other.is_about, pin.moves)):
            both = [format_move(one.move) for one in (other, pin)]
            raise SettingsError("arrange.pins_exclude", number=pin.event + 1, moves=both)
    for pin in pins:
        if pin.avoid and pin.event in kept and all(map(pin.is_about, kept[pin.event].moves)):
            raise SettingsError("arrange.pinned_and_avoided", number=pin.event + 1, move=format_move(pin.move))


def _must_exist(move: Move, tuning: Tuning) -> None:
    try:
        check_move(move, tuning)
    except ReedpathError as error:
        raise SettingsError.like(error) from error

"""Wishes for sounds and films as plain data, as the list of a folder keeps them, so that both can be made again."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Protocol, TypeVar

from reedpath.data import as_plain, from_plain, replace
from reedpath.sound import Backing, PlayAlong


class _PlayedWishes(Protocol):
    """Wishes of which one is how the lesson is played."""

    @property
    def play(self) -> PlayAlong: ...


_Wishes = TypeVar("_Wishes", bound=_PlayedWishes)


def kept_wishes(wishes: _PlayedWishes) -> dict[str, Any]:
    """Wishes as plain data; none where a sound bank is named, which lies elsewhere and may be gone."""
    play = wishes.play
    if isinstance(play, Backing) and play.bank is not None:
        return {}
    return {**as_plain(wishes), "with_band": isinstance(play, Backing)}


def wishes_from(plain: Mapping[str, Any], kind: type[_Wishes]) -> _Wishes:
    """Wishes of a kind from what was kept of them; ReadError or SoundError for what cannot be."""
    fields = dict(plain)
    played = from_plain(fields.pop("play", {}), Backing if fields.pop("with_band", False) else PlayAlong)
    return replace(from_plain(fields, kind), play=played)

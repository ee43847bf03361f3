"""Other ways as plain data, in the documented shape of ``--others --json`` (docs/json.md)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from reedpath.arrange.route import Change
from reedpath.arrange.route_json import DECIMALS
from reedpath.arrange.settling import OtherWay
from reedpath.data import as_plain
from reedpath.data.numbers import Points
from reedpath.harp import Harp, SoundingMove, sounding_move


class WrittenOtherWay(Struct, frozen=True, omit_defaults=True):
    """Another move for an event as it is written.

    move : with what it sounds.
    adds : points.
    changes : an empty list where nothing differs.
    beyond_level : only where it is true.
    """

    move: SoundingMove
    adds: Points
    changes: tuple[Change, ...]
    beyond_level: bool = False


def others_as_data(others: Sequence[Sequence[OtherWay]], harp: Harp) -> list[list[dict[str, Any]]]:
    """The other moves of each event as plain data, least added first."""

    def written(one: OtherWay) -> WrittenOtherWay:
        changes = tuple(replace(change, loss=round(change.loss, DECIMALS)) for change in one.changes)
        adds = round(one.adds, DECIMALS)
        return WrittenOtherWay(sounding_move(one.move, harp), adds, changes, one.beyond_level)

    data: list[list[dict[str, Any]]] = as_plain([[written(one) for one in event] for event in others])
    return data

"""Plans of lessons: a TOML file that lists the pieces of a lesson, each with its own options.

The keys are called as the options of ``reedpath lesson`` are, and mean the same.
"""

from __future__ import annotations

import difflib
import re
from pathlib import Path
from typing import TypeAlias

from msgspec import UNSET, Struct, UnsetType
from msgspec.structs import fields, replace

from reedpath.data import read_toml
from reedpath.errors import Place, ReedpathError, SettingsError
from reedpath.jobs.disk import naming_file, read_text
from reedpath.lesson import VariantKind

# how the library that reads tables says where a piece is
_PIECE = re.compile(r"piece\[(?P<index>\d+)\]\.?(?P<key>.*)", re.DOTALL)
# one text, or several
Texts: TypeAlias = str | tuple[str, ...]


class PlannedPiece(Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """A piece as a plan asks for it: what differs for it from what is said of all.

    source : its file, from where the plan is.
    filler_of, variant_of : the piece before that it is a filler for, or the same for another level: its number from
        1, its title or its source.
    """

    source: str
    format: str | UnsetType = UNSET
    choose: Texts | UnsetType = UNSET
    bars: str | int | UnsetType = UNSET
    lead: bool | UnsetType = UNSET
    key: str | UnsetType = UNSET
    tempo: float | UnsetType = UNSET
    harp: str | UnsetType = UNSET
    tuning: str | UnsetType = UNSET
    temperament: str | UnsetType = UNSET
    a4: float | UnsetType = UNSET
    stretch: float | UnsetType = UNSET
    position: int | UnsetType = UNSET
    owned: Texts | UnsetType = UNSET
    shift: int | UnsetType = UNSET
    any_key: bool | UnsetType = UNSET
    level: Texts | UnsetType = UNSET
    draw_bends: int | UnsetType = UNSET
    blow_bends: int | UnsetType = UNSET
    overblows: bool | UnsetType = UNSET
    overdraws: bool | UnsetType = UNSET
    splits: bool | UnsetType = UNSET
    chords: bool | UnsetType = UNSET
    pin: Texts | UnsetType = UNSET
    avoid: Texts | UnsetType = UNSET
    technique: Texts | UnsetType = UNSET
    rearrange: bool | UnsetType = UNSET
    title: str | UnsetType = UNSET
    note: Texts | UnsetType = UNSET
    part_name: Texts | UnsetType = UNSET
    filler_of: int | str | UnsetType = UNSET
    variant_of: int | str | UnsetType = UNSET


class LessonPlan(Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """A plan of a lesson.

    piece : its pieces, in the order in which they are taught.
    in_a_row : whether all are played one after the other at the end; or which, by their numbers from 1.
    """

    piece: tuple[PlannedPiece, ...] = ()
    title: str | UnsetType = UNSET
    author: str | UnsetType = UNSET
    date: str | UnsetType = UNSET
    note: Texts | UnsetType = UNSET
    languages: Texts | UnsetType = UNSET
    notation: str | UnsetType = UNSET
    paper: str | UnsetType = UNSET
    in_a_row: bool | tuple[int, ...] = True

    @property
    def variants(self) -> tuple[tuple[int, VariantKind] | None, ...]:
        """For each piece the index of the one that it is a variant of, and of which kind; None for one of its own."""
        return tuple(_variant(self, index) for index in range(len(self.piece)))


def _variant(plan: LessonPlan, index: int) -> tuple[int, VariantKind] | None:
    piece = plan.piece[index]
    said = [
        (name, wanted, kind)
        for name, wanted, kind in (
            ("filler-of", piece.filler_of, VariantKind.FILLER),
            ("variant-of", piece.variant_of, VariantKind.LEVEL),
        )
        if wanted is not UNSET
    ]
    if not said:
        return None
    where = place_of_piece(index, said[0][0])
    if len(said) > 1:
        raise SettingsError("jobs.filler_and_variant", where=where)
    _, wanted, kind = said[0]
    before = plan.piece[:index]
    if isinstance(wanted, int):
        found = [wanted - 1] if 1 <= wanted <= index else []
    else:
        found = [one for one, other in enumerate(before) if wanted in (other.title, other.source)]
    own = [one for one in found if before[one].filler_of is UNSET and before[one].variant_of is UNSET]
    if not own:
        raise SettingsError("jobs.variant_of_nothing", where=where, name=wanted, number=index + 1)
    return own[0], kind


def place_of_piece(index: int, key: str = "") -> Place:
    """Where a piece is in a plan, counted from 1 as a person counts them."""
    return Place(field=f"[[piece]] {index + 1}{', ' if key else ''}{key}")


def _keys(kind: type[Struct]) -> tuple[str, ...]:
    return tuple(one.encode_name for one in fields(kind))


def _unknown_key(name: str, where: Place, *, in_piece: bool) -> ReedpathError:
    """What says that a key is not known, with those that are like it, or where it belongs."""
    known, others = (_keys(PlannedPiece), _keys(LessonPlan))[:: 1 if in_piece else -1]
    if name in others:
        return SettingsError("jobs.key_of_the_whole" if in_piece else "jobs.key_of_a_piece", where=where, name=name)
    near = difflib.get_close_matches(name, known, n=3) or known
    return SettingsError("jobs.unknown_plan_key", where=where, name=name, names=near)


def _told_in_plan(error: ReedpathError) -> ReedpathError:
    """What does not hold in a plan, with the piece as a person counts it and keys that may be meant."""
    where = error.where
    match = _PIECE.match(where.field)
    if match is not None:
        where = replace(where, field=place_of_piece(int(match["index"]), match["key"]).field)
    if error.key == "data.unknown_field":
        name = error.where.field.rpartition(".")[2]
        return _unknown_key(name, where, in_piece=match is not None)
    if where.field == "piece":
        return SettingsError("jobs.plan_without_pieces", where=where)
    return type(error)(error.key, where=where, **error.values)


def _check_row(plan: LessonPlan) -> None:
    """A SettingsError for a number under which no piece stands."""
    count = len(plan.piece)
    for number in plan.in_a_row if isinstance(plan.in_a_row, tuple) else ():
        if not 1 <= number <= count:
            raise SettingsError("jobs.no_such_piece", where=Place(field="in-a-row"), number=number, count=count)


def plan_from(text: str, *, file: str) -> LessonPlan:
    """The plan that a TOML text says.

    Raises `SettingsError`, naming file and key, for what has not the shape of a plan, and for a variant of a piece
    that is not there.
    """
    try:
        plan = read_toml(text, LessonPlan, file=file)
    except ReedpathError as error:
        raise _told_in_plan(error) from None
    if not plan.piece:
        raise SettingsError("jobs.plan_without_pieces", where=Place(file=file))
    try:
        _check_row(plan)
        _ = plan.variants
    except ReedpathError as error:
        raise error.inside(Place(file=file)) from None
    return plan


def read_plan(path: Path) -> LessonPlan:
    """The plan in a file."""
    with naming_file(path):
        return plan_from(read_text(path), file=str(path))

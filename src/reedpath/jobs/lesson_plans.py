"""Plans of lessons: a TOML file that lists the pieces of a lesson, each with its own options.

The keys are called as the options of ``reedpath lesson`` are, and mean the same.
"""

from __future__ import annotations

import difflib
from pathlib import Path
from typing import TypeAlias

from msgspec import Struct, field
from msgspec.structs import fields

from reedpath.data import read_toml
from reedpath.errors import Place, ReedpathError, SettingsError
from reedpath.jobs.disk import read_text, with_file
from reedpath.lesson import VariantKind

__all__ = ["LessonPlan", "PlannedPiece", "plan_from", "read_plan"]

# one text, or several
Texts: TypeAlias = str | tuple[str, ...]


class PlannedPiece(Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """A piece as a plan asks for it: what differs for it from what is said of all.

    source : its file, from where the plan is.
    filler_of, variant_of : the piece before that it is a filler for, or the same for another level: its number from
        1, its title or its source.
    """

    source: str
    format: str | None = None
    choose: Texts | None = None
    bars: str | int | None = None
    lead: bool | None = None
    key: str | None = None
    tempo: float | None = None
    harp: str | None = None
    tuning: str | None = None
    temperament: str | None = None
    a4: float | None = None
    stretch: float | None = None
    position: int | None = None
    owned: Texts | None = None
    shift: int | None = None
    any_key: bool | None = None
    level: Texts | None = None
    draw_bends: int | None = None
    blow_bends: int | None = None
    overblows: bool | None = None
    overdraws: bool | None = None
    splits: bool | None = None
    chords: bool | None = None
    pin: Texts | None = None
    avoid: Texts | None = None
    technique: Texts | None = None
    rearrange: bool | None = None
    title: str | None = None
    note: Texts | None = None
    part_name: Texts | None = None
    filler_of: int | str | None = None
    variant_of: int | str | None = None


class LessonPlan(Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """A plan of a lesson.

    piece : its pieces, in the order in which they are taught.
    in_a_row : whether all are played one after the other at the end.
    """

    piece: tuple[PlannedPiece, ...] = field(default=())
    title: str | None = None
    author: str | None = None
    date: str | None = None
    note: Texts | None = None
    languages: Texts | None = None
    notation: str | None = None
    paper: str | None = None
    in_a_row: bool = True

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
        if wanted is not None
    ]
    if not said:
        return None
    where = Place(field=f"piece[{index}].{said[0][0]}")
    if len(said) > 1:
        raise SettingsError("jobs.filler_and_variant", where=where)
    _, wanted, kind = said[0]
    before = plan.piece[:index]
    if isinstance(wanted, int):
        found = [wanted - 1] if 1 <= wanted <= index else []
    else:
        found = [one for one, other in enumerate(before) if wanted in (other.title, other.source)]
    own = [one for one in found if before[one].filler_of is None and before[one].variant_of is None]
    if not own:
        raise SettingsError("jobs.variant_of_nothing", where=where, name=wanted, number=index + 1)
    return own[0], kind


def _known_keys(place: str) -> tuple[str, ...]:
    """Keys that may stand where an unknown one does."""
    kind = PlannedPiece if place.startswith("piece[") else LessonPlan
    return tuple(one.encode_name for one in fields(kind))


def _with_near_names(error: ReedpathError) -> ReedpathError:
    """What says that a key is not known, with those that are like it."""
    if error.key != "data.unknown_field":
        return error
    name = error.where.field.rpartition(".")[2]
    known = _known_keys(error.where.field)
    near = difflib.get_close_matches(name, known, n=3) or known
    return SettingsError("jobs.unknown_plan_key", where=error.where, name=name, names=near)


def plan_from(text: str, *, file: str) -> LessonPlan:
    """
    The plan that a TOML text says.

    Raises
    ------
    SettingsError
        Naming file and key, for what has not the shape of a plan, and for a variant of a piece that is not there.
    """
    try:
        plan = read_toml(text, LessonPlan, file=file)
    except ReedpathError as error:
        raise _with_near_names(error) from None
    if not plan.piece:
        raise SettingsError("jobs.plan_without_pieces", where=Place(file=file))
    try:
        _ = plan.variants
    except ReedpathError as error:
        raise error.inside(Place(file=file)) from None
    return plan


def read_plan(path: Path) -> LessonPlan:
    """The plan in a file."""
    try:
        return plan_from(read_text(path), file=str(path))
    except ReedpathError as error:
        raise with_file(path, error) from None

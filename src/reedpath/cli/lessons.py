"""What ``lesson`` is asked for: one phrase, several, one at several levels, or a plan that lists them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from click.core import ParameterSource
from msgspec import UNSET, UnsetType

from reedpath.cli.making import make_from, make_from_several
from reedpath.cli.options import request_of
from reedpath.cli.printing import catalogue_for
from reedpath.cli.reading import keys_of, source_of
from reedpath.data import replace
from reedpath.errors import Place, ReedpathError, SettingsError

if TYPE_CHECKING:
    from reedpath.jobs import AskedPiece, LessonPlan, PlannedPiece, SaidOfLesson, WholeWishes

# keys of a plan and names under which the options of the source, the request and the player reach a command
_SOURCE = {
    "format": "format",
    "choose": "choose",
    "bars": "bars",
    "lead": "lead",
    "key": "music_key",
    "tempo": "tempo",
}
_REQUEST = {
    "harp": "key", "tuning": "tuning", "temperament": "temperament", "a4": "a4_hz", "stretch": "stretch_cents",
    "position": "position", "owned": "owned", "shift": "shift_semitones", "any_key": "any_key", "pin": "pin",
    "avoid": "avoid", "technique": "technique", "rearrange": "rearrange",
}  # fmt: skip
_PLAYER = ("level", "draw_bends", "blow_bends", "overblows", "overdraws", "splits", "chords")
# options that say which harp; one of them said of a piece takes the place of all
_WHICH_HARP = ("key", "position", "owned")
# options that may be said several times
_SEVERAL = ("choose", "pin", "avoid", "technique")
# where nothing is said of languages, and what goes with the system's own where it is another
LANGUAGES, BESIDE = ("en", "fr"), "en"


@dataclass(frozen=True, slots=True)
class LessonAsked:
    """What was said after ``lesson``, as it was said."""

    sources: Mapping[str, Any]
    requests: Mapping[str, Any]
    said: SaidOfLesson
    notation: str
    languages: str | None
    paper: str

    @property
    def files(self) -> tuple[Path, ...]:
        """The files that were named."""
        files: tuple[Path, ...] = self.sources["files"]
        return files

    @property
    def of_source(self) -> dict[str, Any]:
        """What is said of each source."""
        return {name: value for name, value in self.sources.items() if name != "files"}


def _was_said(name: str) -> bool:
    """Whether an option was said, rather than left as it is."""
    return click.get_current_context().get_parameter_source(name) is ParameterSource.COMMANDLINE


def _texts(value: str | tuple[str, ...]) -> tuple[str, ...]:
    return (value,) if isinstance(value, str) else value


def _text(value: str | UnsetType) -> str | None:
    return value if isinstance(value, str) else None


def _one_text(value: str | tuple[str, ...]) -> str:
    """Names in a row, as an option has them."""
    return value if isinstance(value, str) else ",".join(value)


def _levels(request: Mapping[str, Any]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(keys_of(request["player"]["level"], option="--level")))


def _at_first_level(request: Mapping[str, Any]) -> dict[str, Any]:
    """What is said of a request, with the first of its levels."""
    levels = _levels(request)
    return dict(request) | {"player": dict(request["player"]) | {"level": levels[0] if levels else None}}


def _asked(path: Path, source: Mapping[str, Any], request: Mapping[str, Any], said: SaidOfLesson) -> AskedPiece:
    from reedpath.jobs import AskedPiece

    levels = _levels(request)
    read = source_of(path, **source)
    return AskedPiece(Place(file=str(path)), read, request_of(_at_first_level(request)), levels, said)


def _own(piece: PlannedPiece, names: Mapping[str, str]) -> dict[str, Any]:
    """What a planned piece says itself, as options would."""
    said = {option: value for name, option in names.items() if (value := getattr(piece, name)) is not UNSET}
    for option in said.keys() & {*_SEVERAL}:
        said[option] = _texts(said[option])
    if "owned" in said:
        said["owned"] = _one_text(said["owned"])
    if "bars" in said:
        said["bars"] = str(said["bars"])
    return said


def _planned(piece: PlannedPiece, folder: Path, asked: LessonAsked) -> AskedPiece:
    from reedpath.jobs import SaidOfLesson

    own = _own(piece, _REQUEST)
    common = {
        name: None if name in _WHICH_HARP and own.keys() & {*_WHICH_HARP} else value
        for name, value in asked.requests.items()
    }
    player = {name: value for name in _PLAYER if (value := getattr(piece, name)) is not UNSET}
    if "level" in player:
        player["level"] = _one_text(player["level"])
    request = common | own | {"player": dict(asked.requests["player"]) | player}
    title, notes, names = _text(piece.title), _texts(piece.note or ()), _texts(piece.part_name or ())
    said = SaidOfLesson(title=title, notes=notes, part_names=names)
    return _asked(folder / piece.source, asked.of_source | _own(piece, _SOURCE), request, said)


def _planned_pieces(plan: LessonPlan, path: Path, asked: LessonAsked) -> Iterator[AskedPiece]:
    from reedpath.jobs import place_of_piece

    for index, (piece, variant) in enumerate(zip(plan.piece, plan.variants, strict=True)):
        where = place_of_piece(index).inside(Place(file=str(path)))
        try:
            made = replace(_planned(piece, path.parent, asked), where=where)
        except ReedpathError as error:
            raise error.inside(where) from None
        yield made if variant is None else replace(made, variant_of=variant[0], variant=variant[1])


def _refuse_words_for_one(asked: LessonAsked) -> None:
    """A SettingsError for an option that is about the events or the parts of one phrase."""
    said = {f"--{name}": asked.requests[name] for name in ("pin", "avoid", "technique")}
    said["--part-name"] = asked.said.part_names
    for option, values in said.items():
        if values:
            raise SettingsError("cli.about_one_phrase", option=option, name=option.removeprefix("--"))


def _languages(said: str | None) -> tuple[str, ...]:
    """The languages that were named; else English and French, or the system's where it is another, and English."""
    if said is not None:
        return keys_of(said, option="--languages")
    own = catalogue_for(None).name
    return LANGUAGES if own in LANGUAGES else (own, BESIDE)


def _whole_said(plan: LessonPlan, said: SaidOfLesson) -> SaidOfLesson:
    """What is said of the whole: what the command says goes before the plan."""
    own = {name: getattr(said, name) or getattr(plan, name) or None for name in ("title", "author", "date")}
    return replace(said, notes=said.notes or _texts(plan.note or ()), **own)


def _whole_wishes(asked: LessonAsked, plan: LessonPlan | None) -> WholeWishes:
    from reedpath.jobs import WholeWishes

    look: dict[str, Any] = {"notation": asked.notation, "paper": asked.paper}
    languages, said = asked.languages, replace(asked.said, part_names=())
    in_a_row: bool | tuple[int, ...] = True
    if plan is not None:
        planned = {name: value for name in look if (value := getattr(plan, name)) and not _was_said(name)}
        look |= planned
        languages = languages or (_one_text(plan.languages) if plan.languages else None)
        said, in_a_row = _whole_said(plan, said), plan.in_a_row
        if isinstance(in_a_row, tuple):
            in_a_row = tuple(number - 1 for number in in_a_row)
    return WholeWishes(said, languages=_languages(languages), in_a_row=in_a_row, **look)


def _in_notation(pieces: Iterator[AskedPiece] | list[AskedPiece], notation: str) -> list[AskedPiece]:
    """The pieces, with what is said of their moves read in a notation first."""
    return [replace(piece, request=replace(piece.request, notation=notation)) for piece in pieces]


def _make_one(asked: LessonAsked, out: Path, *, replace_lesson: bool, json: bool) -> None:
    from reedpath.jobs import LessonWishes

    languages = _languages(asked.languages)
    read = source_of(asked.files[0], **asked.of_source)
    request = replace(request_of(_at_first_level(asked.requests)), notation=asked.notation)
    named = replace(asked.said, title=None)
    wishes = LessonWishes(asked.said.title or "", asked.notation, languages, asked.paper, named)
    told_in = languages[0] if asked.languages else None
    make_from(read, request, wishes, out, replace=replace_lesson, json=json, language=told_in)


def make_lesson(asked: LessonAsked, out: Path, *, replace: bool, json: bool) -> None:
    """Make the lesson that is asked for."""
    plans = [path for path in asked.files if path.suffix.lower() == ".toml"]
    if plans and len(asked.files) > 1:
        raise SettingsError("cli.plan_alone", name=str(plans[0]))
    if not plans and len(asked.files) == 1 and len(_levels(asked.requests)) < 2:
        _make_one(asked, out, replace_lesson=replace, json=json)
        return
    plan = None
    if plans:
        from reedpath.jobs import read_plan

        _refuse_words_for_one(asked)
        plan = read_plan(plans[0])
    elif len(asked.files) > 1:
        _refuse_words_for_one(asked)
    wishes = _whole_wishes(asked, plan)
    if plan is not None:
        pieces = _in_notation(_planned_pieces(plan, plans[0], asked), wishes.notation)
    else:
        from reedpath.jobs import SaidOfLesson

        own = SaidOfLesson(part_names=asked.said.part_names)
        found = (_asked(path, asked.of_source, asked.requests, own) for path in asked.files)
        pieces = _in_notation(found, wishes.notation)
    told_in = wishes.languages[0] if asked.languages else None
    make_from_several(pieces, wishes, out, replace=replace, json=json, language=told_in)

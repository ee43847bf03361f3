"""What the forms of the workbench say, as commands; the same whether a page sends them or a script."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from msgspec import ValidationError

from reedpath.errors import SettingsError
from reedpath.jobs.workbench import Command
from reedpath.jobs.workbench.commands import (
    Choose,
    CorrectNote,
    LookAt,
    MarkPart,
    NamePart,
    PinMove,
    RedoStep,
    TypeSource,
    UndoStep,
    Unpin,
    encode_command,
    read_command,
)
from reedpath.studio.forms import tempo_of
from reedpath.wording import Catalogue, plain_names

# fields of `Choose` by how they are read
NUMBERS = ("position", "shift_semitones", "draw_bends", "blow_bends")
SWITCHES = ("owned_only", "any_key")
TECHNIQUES = ("overblows", "overdraws", "splits", "chords")
TEXTS = ("harp", "tuning", "level", "key", "notation", "title")

Fields = Mapping[str, str]


def _number(text: str) -> int:
    try:
        return int(text)
    except ValueError:
        raise SettingsError("studio.no_number", found=text[:40]) from None


def _index(fields: Fields, name: str) -> int:
    """An index from 0, of a field that counts from 1."""
    return max(0, _number(fields.get(name, "")) - 1)


def _choose(fields: Fields) -> Choose:
    said: dict[str, Any] = {name: fields[name].strip() for name in TEXTS if name in fields}
    said |= {name: _number(fields[name]) if fields[name].strip() else None for name in NUMBERS if name in fields}
    said |= {name: fields[name] == "1" for name in (*SWITCHES, *TECHNIQUES) if name in fields}
    if "bpm" in fields:
        said["bpm"] = tempo_of(fields["bpm"]) if fields["bpm"].strip() else None
    return Choose(**said)


def _event(fields: Fields) -> int:
    return _index(fields, "note")


MADE: Mapping[str, Callable[[Fields], Command]] = {
    "type": lambda fields: TypeSource(text=fields.get("text", ""), format=fields.get("format", "")),
    "choose": _choose,
    "pin": lambda fields: PinMove(event=_event(fields), move=fields.get("move", "")),
    "avoid": lambda fields: PinMove(event=_event(fields), move=fields.get("move", ""), avoid=True),
    "unpin": lambda fields: Unpin(event=_event(fields) if fields.get("note") else None),
    "look": lambda fields: LookAt(event=_event(fields) if fields.get("note") else None),
    "mark": lambda fields: MarkPart(
        first=_index(fields, "from"), last=_index(fields, "to"), label=fields.get("label", "").strip()
    ),
    "name": lambda fields: NamePart(part=_index(fields, "part"), label=fields.get("label", "")),
    "unmark": lambda fields: NamePart(part=_index(fields, "part")),
    "correct": lambda fields: CorrectNote(
        event=_event(fields), how=fields.get("how", ""), semitones=_number(fields.get("semitones") or "0")
    ),
    "undo": lambda fields: UndoStep(),
    "redo": lambda fields: RedoStep(),
}


def command_of(fields: Fields, catalogue: Catalogue) -> Command:
    """The command of a form: what to ``do``, and how; a key is typed as the language names notes.

    Raises `ReedpathError` for what no form of ours says.
    """
    made = MADE.get(fields.get("do", ""))
    if made is None:
        raise SettingsError("studio.no_form")
    if "key" in fields:
        fields = {**fields, "key": plain_names(fields["key"], catalogue)}
    try:
        return read_command(encode_command(made(fields)))  # which checks what the fields hold
    except ValidationError as error:
        raise SettingsError("studio.no_form") from error


def sound_of(fields: Fields, count: int) -> tuple[int, int, float | None]:
    """First and last event, and the tempo, that a form wants to hear; the whole phrase where it says nothing."""
    first = _index(fields, "from") if fields.get("from") else 0
    last = _index(fields, "to") if fields.get("to") else count - 1
    bpm = tempo_of(fields["bpm"]) if fields.get("bpm", "").strip() else None
    return min(first, last), max(first, last), bpm

"""Tokens: how one event stands in a line of tab, ornaments included."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from msgspec.structs import replace

from reedpath.arrange import ChangeKind, RouteEvent
from reedpath.harp import Alteration, Move, format_move
from reedpath.page.score.sheet import Sheet, WrittenNote

# changes that a reader of tab should know of: the note is not the one of the phrase as given
OTHER_NOTE = (ChangeKind.OCTAVE, ChangeKind.HARMONY, ChangeKind.MISSING)


@dataclass(frozen=True, slots=True)
class Marks:
    """The signs that tab adds to plain moves; our own choice, explained on every page that uses them.

    glide : between the depths of one breath that glides from one to the other.
    run : between quick notes run into one another.
    run_out : the same where the note itself comes before, for texts that are read back; it points to that note.
    vibrato : after a note that is shaken in pitch.
    changed : after a note that is not the one asked for.
    silent : in place of an event that the harp leaves out.
    breath : where a breath is taken.
    hold : where a note goes on sounding.
    """

    glide: str = "›"
    run: str = "»"
    run_out: str = "«"
    vibrato: str = "~"
    changed: str = "*"
    silent: str = "×"
    breath: str = ","
    hold: str = "·"


MARKS = Marks()
# the same on a typewriter
PLAIN_MARKS = Marks(glide=">", run=">>", run_out="<<", silent="x", hold=".")


def _bent(move: Move, semitones: float) -> Move:
    """The move with its reed pressed down (or let up) by so many semitones; depths under one are a dip."""
    depth = move.semitones + semitones
    if len(move.holes) > 1 or move.alteration.is_overbend or depth > 0:
        return move
    if depth == 0:
        return replace(move, alteration=Alteration.NATURAL, semitones=0)
    return replace(move, alteration=Alteration.BEND, semitones=0 if depth > -1 else round(depth))


def _glide(move: Move, one: RouteEvent) -> list[Move]:
    """The depths one breath goes through: attacked bent, its own, pressed down."""
    moves = [move]
    if one.choice.attack_semitones:
        moves.insert(0, _bent(move, one.choice.attack_semitones))
    if one.choice.fall_semitones:
        moves.append(_bent(move, one.choice.fall_semitones))
    # of two depths the higher is taken for the note itself; where it is not, the note stands on both sides
    if len(moves) == 2 and one.choice.attack_semitones > 0:
        moves.append(move)
    if len(moves) == 2 and one.choice.fall_semitones > 0:
        moves.insert(0, move)
    return moves


def marks_for(*, ascii_only: bool) -> Marks:
    """The signs to use."""
    return PLAIN_MARKS if ascii_only else MARKS


def is_other_note(one: RouteEvent) -> bool:
    """Whether an event sounds another note than the one asked for."""
    return any(change.kind in OTHER_NOTE for change in one.choice.changes)


def event_token(one: RouteEvent, *, notation: str, ascii_only: bool = False, points_back: bool = False) -> str:
    """One event in a notation: its move, what leads in and out, glides, vibrato, a mark where it differs.

    points_back : whether what leads out has a sign of its own, so that the note itself can be told.
    """
    marks = marks_for(ascii_only=ascii_only)
    choice = one.choice
    if choice.move is None:
        return marks.silent

    def written(moves: Iterable[Move], between: str) -> str:
        return between.join(format_move(move, notation, ascii_only=ascii_only) for move in moves)

    main = written(_glide(choice.move, one), marks.glide)
    main += marks.vibrato if one.event.ornaments.vibrato else ""
    main += marks.changed if is_other_note(one) else ""
    run_out = marks.run_out if points_back else marks.run
    before = marks.run.join(run for run in (written(choice.lead_in, marks.run), main) if run)
    return run_out.join(run for run in (before, written(choice.lead_out, run_out)) if run)


def note_token(sheet: Sheet, note: WrittenNote, *, ascii_only: bool = False, points_back: bool = False) -> str:
    """A written note in the sheet's notation, its grace notes run into it; `event_token` tells the rest."""
    marks = marks_for(ascii_only=ascii_only)
    events = (sheet.route.events[index] for index in (*note.graces, note.index))
    return marks.run.join(
        event_token(one, notation=sheet.notation, ascii_only=ascii_only, points_back=points_back) for one in events
    )

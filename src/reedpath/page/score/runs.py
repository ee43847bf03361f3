"""Runs: the quick notes before and after a main note, as small notes of the score."""

from __future__ import annotations

from dataclasses import dataclass

from reedpath.harp import midi_of
from reedpath.page.score.written import Sheet, WrittenNote

__all__ = ["Run", "runs_in", "runs_out"]


@dataclass(frozen=True, slots=True)
class Run:
    """A quick note: its id in the score and its MIDI numbers, ascending."""

    id: str
    midi: tuple[int, ...]


def runs_in(sheet: Sheet, note: WrittenNote) -> list[Run]:
    """The grace notes of a note, and the moves run through into it or into them."""
    harp, found = sheet.route.harp, []
    for index in (*note.graces, note.index):
        choice = sheet.route.events[index].choice
        lead_in = [midi_of(harp, move) for move in choice.lead_in]
        found += [Run(f"e{index}i{place}", tuple(sorted(set(midi)))) for place, midi in enumerate(lead_in)]
        if index != note.index and choice.move is not None:
            found.append(Run(f"e{index}", tuple(sorted(set(midi_of(harp, choice.move))))))
    return found


def runs_out(sheet: Sheet, note: WrittenNote) -> list[Run]:
    """The moves that a note runs off into."""
    lead_out = [midi_of(sheet.route.harp, move) for move in sheet.event(note).choice.lead_out]
    return [Run(f"e{note.index}o{place}", tuple(sorted(set(midi)))) for place, midi in enumerate(lead_out)]

"""Noting: the <note> elements of a measure, grace notes and tab included."""

from __future__ import annotations

from collections.abc import Sequence
from xml.etree.ElementTree import Element

from reedpath.page.score.beams import beam_states
from reedpath.page.score.elements import add
from reedpath.page.score.measures import Measure
from reedpath.page.score.notations import (
    SLUR_IN,
    SLUR_OUT,
    NotePart,
    SmallNote,
    add_ties,
    add_tuplet,
    notations_of,
    runs_in,
    runs_out,
)
from reedpath.page.score.rhythm import RhythmPiece
from reedpath.page.score.sheet import NoteNamer, Sheet, WrittenNote
from reedpath.page.score.spelling import Accidentals, Spelled, spell
from reedpath.page.score.tab_signs import note_token
from reedpath.pitch import key_fifths

# percent of the main note's time that the notes it runs off into may take; from memory
STOLEN_PERCENT = "25"
# a space (or a no-break one) inside a lyric makes engravers part it in two; a thin space does not
THIN_SPACE = "\u2009"


class NoteWriter:
    """Writes the notes of one sheet, measure by measure in order; it remembers the accidentals in force.

    sheet : what is written.
    divisions : MusicXML divisions of a quarter note.
    names : what names the notes to print under the tab; None for none.
    """

    def __init__(self, sheet: Sheet, *, divisions: int, names: NoteNamer | None = None) -> None:
        self._sheet = sheet
        self._divisions = divisions
        self._names = names
        self._key = sheet.route.phrase.key
        self._accidentals = Accidentals(key_fifths(self._key))
        self._beams: dict[int, list[str]] = {}

    def write(self, element: Element, measure: Measure, index: int) -> None:
        """Add the notes or the rest of one piece of a measure."""
        piece = measure.pieces[index]
        if index == 0:
            self._accidentals = Accidentals(key_fifths(self._key))
            self._beams = beam_states(measure)
        if piece.source is None:
            self._rest(element, measure, piece)
            return
        at = NotePart(self._sheet, measure, piece, self._sheet.notes[piece.source])
        if at.is_first:
            for place, run in enumerate(runs_in(self._sheet, at.note)):
                self._quick(element, run, at.note, slur="start" if place == 0 else None)
        self._main(element, at, self._beams.get(index, ()))
        if at.is_last:
            runs = runs_out(self._sheet, at.note)
            for run in runs:
                self._quick(element, run, at.note, slur="stop" if run is runs[-1] else None, is_after=True)

    def _quick(
        self, element: Element, run: SmallNote, note: WrittenNote, *, slur: str | None, is_after: bool = False
    ) -> None:
        for place, midi in enumerate(run.midi):
            one = add(element, "note", id=run.id if place == 0 else f"{run.id}c{place}")
            add(one, "grace", **({"steal_time_previous": STOLEN_PERCENT} if is_after else {"slash": "yes"}))
            if place:
                add(one, "chord")
            pitch = spell(midi, self._key, goes_up=midi < note.midi[0], written=self._sheet.event(note).event.fifths)
            shown = self._pitch(one, pitch, is_shown=True)
            add(one, "voice", 1)
            add(one, "type", "16th")
            if shown:
                add(one, "accidental", shown)
            if slur and place == 0:
                add(add(one, "notations"), "slur", type=slur, number=SLUR_OUT if is_after else SLUR_IN)

    def _pitch(self, element: Element, pitch: Spelled, *, is_shown: bool) -> str | None:
        """Add the pitch; the accidental to show, if any."""
        child = add(element, "pitch")
        add(child, "step", pitch.letter)
        if pitch.alter:
            add(child, "alter", pitch.alter)
        add(child, "octave", pitch.octave)
        return self._accidentals.show(pitch) if is_shown else None

    def _main(self, element: Element, at: NotePart, beams: Sequence[str]) -> None:
        is_silent, spelt = at.event.choice.move is None, self._sheet.route.fifths(at.note.index)
        for place, midi in enumerate(at.note.midi):
            name = f"e{at.note.index}" + (f"c{place}" if place else "")
            tail = "" if at.is_first else f"t{at.piece.onset}".replace("/", "-")
            one = add(element, "note", id=name + tail)
            if is_silent:
                add(one, "cue")
            if place:
                add(one, "chord")
            pitch = spell(midi, self._key, goes_up=False, written=spelt)
            shown = self._pitch(one, pitch, is_shown=at.is_first or is_silent)
            add(one, "duration", int((at.piece.end - at.piece.onset) * self._divisions))
            if not is_silent:
                add_ties(one, "tie", at)
            add(one, "voice", 1)
            self._value(one, at.piece, shown)
            if is_silent:
                add(one, "notehead", "x")
            for level, state in enumerate(() if place else beams, start=1):
                add(one, "beam", state, number=str(level))
            notations = notations_of(at, is_chord_note=place > 0)
            if len(notations):
                one.append(notations)
            if place == 0 and at.is_first:
                self._lyrics(one, at.note)

    def _value(self, element: Element, piece: RhythmPiece, accidental: str | None = None) -> None:
        if piece.value is None:
            return
        add(element, "type", piece.value.name)
        for _ in range(piece.value.dots):
            add(element, "dot")
        if accidental:
            add(element, "accidental", accidental)
        if piece.tuplet:
            change = add(element, "time-modification")
            add(change, "actual-notes", piece.tuplet.actual)
            add(change, "normal-notes", piece.tuplet.normal)

    def _rest(self, element: Element, measure: Measure, piece: RhythmPiece) -> None:
        one = add(element, "note")
        add(one, "rest", **({} if piece.value else {"measure": "yes"}))
        add(one, "duration", int((piece.end - piece.onset) * self._divisions))
        add(one, "voice", 1)
        self._value(one, piece)
        if piece.tuplet:
            add_tuplet(add(one, "notations"), measure, piece)

    def _lyrics(self, element: Element, note: WrittenNote) -> None:
        lines = [note_token(self._sheet, note)]
        if self._names:
            lines.append(" ".join(self._names(note)))
        for number, line in enumerate(lines, start=1):
            lyric = add(element, "lyric", number=str(number))
            add(lyric, "syllabic", "single")
            text = add(lyric, "text", "")
            text.text = line.replace(" ", THIN_SPACE)

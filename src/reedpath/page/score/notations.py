"""Notations: what is drawn at one note beside its head: ties, slurs, tuplets, slides, ornaments, the move."""

from __future__ import annotations

from dataclasses import dataclass
from xml.etree.ElementTree import Element

from reedpath.arrange import OF_ORNAMENTS, ChangeKind, RouteEvent
from reedpath.harp import Alteration, Move, midi_of
from reedpath.page.score.beams import is_beamed_whole
from reedpath.page.score.elements import add
from reedpath.page.score.measures import Measure
from reedpath.page.score.rhythm import RhythmPiece
from reedpath.page.score.sheet import Sheet, WrittenNote

# numbers that keep the slurs of one note apart: into it, and out of it
SLUR_IN, SLUR_OUT = "1", "2"


@dataclass(frozen=True, slots=True)
class SmallNote:
    """A quick note: its id in the score and its MIDI numbers, ascending."""

    id: str
    midi: tuple[int, ...]


def runs_in(sheet: Sheet, note: WrittenNote) -> list[SmallNote]:
    """The grace notes of a note, and the moves run through into it or into them."""
    harp, found = sheet.route.harp, []
    for index in (*note.graces, note.index):
        choice = sheet.route.events[index].choice
        lead_in = [midi_of(harp, move) for move in choice.lead_in]
        found += [SmallNote(f"e{index}i{place}", tuple(sorted(set(midi)))) for place, midi in enumerate(lead_in)]
        if index != note.index and choice.move is not None:
            found.append(SmallNote(f"e{index}", tuple(sorted(set(midi_of(harp, choice.move))))))
    return found


def runs_out(sheet: Sheet, note: WrittenNote) -> list[SmallNote]:
    """The moves that a note runs off into."""
    lead_out = [midi_of(sheet.route.harp, move) for move in sheet.event(note).choice.lead_out]
    return [SmallNote(f"e{note.index}o{place}", tuple(sorted(set(midi)))) for place, midi in enumerate(lead_out)]


@dataclass(frozen=True, slots=True)
class NotePart:
    """A place in the score: a piece of a written note in its measure."""

    sheet: Sheet
    measure: Measure
    piece: RhythmPiece
    note: WrittenNote

    @property
    def event(self) -> RouteEvent:
        """The route event."""
        return self.sheet.event(self.note)

    @property
    def is_first(self) -> bool:
        """Whether the note begins here."""
        return self.piece.onset == self.note.onset

    @property
    def is_last(self) -> bool:
        """Whether the note ends here."""
        return self.piece.end == self.note.end

    @property
    def source(self) -> int:
        """Index of the written note."""
        return self.piece.source or 0


def describe_move(move: Move) -> str:
    """A move as plain data in a score.

    >>> from reedpath.harp import Breath
    >>> describe_move(Move((4,), Breath.DRAW, Alteration.BEND, -1)), describe_move(Move((2, 3), Breath.DRAW))
    ('4 draw bend -1', '2+3 draw')
    """
    words = ["+".join(map(str, move.holes)), move.breath.value]
    if move.alteration is not Alteration.NATURAL:
        words += [move.alteration.value, str(move.semitones)]
    return " ".join(words)


def _bend_steps(one: RouteEvent) -> list[tuple[float, str]]:
    """The bends of a note: semitones, and whether the reed is bent before, let go or pressed down."""
    choice = one.choice
    if choice.move is None:
        return []
    own = choice.move.semitones if choice.move.alteration is Alteration.BEND else 0
    attack, fall = choice.attack_semitones, choice.fall_semitones
    steps: list[tuple[float, str]] = [(own + attack, "pre-bend")] if own + attack else []
    if attack:
        steps.append((-attack, "release" if attack < 0 else "bend"))
    if fall:
        steps.append((fall, "bend"))
    return steps


def add_ties(element: Element, tag: str, at: NotePart) -> None:
    """Add <tie> or <tied> where a note goes on from, or into, another piece."""
    if not at.is_first:
        add(element, tag, type="stop")
    if not at.is_last:
        add(element, tag, type="start")


def add_tuplet(notations: Element, measure: Measure, piece: RhythmPiece) -> None:
    """Add the ends of a tuplet that lie at a piece."""
    tuplet = piece.tuplet
    if tuplet and piece.onset == tuplet.start:
        bracket = "no" if is_beamed_whole(measure, tuplet) else "yes"
        add(notations, "tuplet", type="start", number="1", bracket=bracket)
    if tuplet and piece.end == tuplet.end:
        add(notations, "tuplet", type="stop", number="1")


def _add_slurs(notations: Element, at: NotePart) -> None:
    if at.is_first and runs_in(at.sheet, at.note):
        add(notations, "slur", type="stop", number=SLUR_IN)
    if at.is_last and runs_out(at.sheet, at.note):
        add(notations, "slur", type="start", number=SLUR_OUT)


def _slides_on(sheet: Sheet, source: int) -> bool:
    """Whether a written note slides straight into the next."""
    if source < 0 or source + 1 >= len(sheet.notes):
        return False
    note, after = sheet.notes[source], sheet.notes[source + 1]
    one, two = sheet.event(note), sheet.event(after)
    changes = (*one.choice.changes, *two.choice.changes)
    if any(change.kind in (*OF_ORNAMENTS, ChangeKind.SILENT) for change in changes):
        return False
    if note.end != after.onset or after.graces or one.choice.lead_out or two.choice.lead_in:
        return False
    slides = (one.event.ornaments.slide_to, two.event.ornaments.slide_from)
    return slides[0] == two.event.midi[0] or slides[1] == one.event.midi[0]


def _add_slides(notations: Element, at: NotePart) -> None:
    if at.is_first and _slides_on(at.sheet, at.source - 1):
        add(notations, "slide", type="stop", number="1")
    if at.is_last and _slides_on(at.sheet, at.source):
        add(notations, "slide", type="start", number="1", line_type="solid")


def _add_vibrato(notations: Element, at: NotePart) -> None:
    if not at.event.event.ornaments.vibrato:
        return
    if at.is_first:
        add(add(notations, "ornaments"), "wavy-line", type="start", number="1")
    if at.is_last:
        add(add(notations, "ornaments"), "wavy-line", type="stop", number="1")


def _add_technical(notations: Element, at: NotePart) -> None:
    move = at.event.choice.move
    if move is None or not at.is_first:
        return
    technical = add(notations, "technical")
    add(technical, "other-technical", describe_move(move))
    for semitones, kind in _bend_steps(at.event):
        bend = add(technical, "bend")
        add(bend, "bend-alter", f"{semitones:g}")
        if kind != "bend":
            add(bend, kind)


def _breath_after(sheet: Sheet, source: int) -> bool:
    """Whether a breath is taken before the next written note or a grace note of it."""
    after = sheet.notes[source + 1 : source + 2]
    indexes = (*after[0].graces, after[0].index) if after else ()
    return any(sheet.route.events[index].breathe_before for index in indexes)


def _add_articulations(notations: Element, at: NotePart) -> None:
    choice = at.event.choice
    asked = {
        "accent": at.is_first and at.event.event.ornaments.accent,
        "scoop": at.is_first and choice.attack_semitones < 0,
        "falloff": at.is_last and choice.fall_semitones < 0,
    }
    names = [name for name, wanted in asked.items() if wanted]
    breathes = at.is_last and _breath_after(at.sheet, at.source)
    if not names and not breathes:
        return
    articulations = add(notations, "articulations")
    for name in names:
        add(articulations, name)
    if breathes:
        add(articulations, "breath-mark", "comma")


def notations_of(at: NotePart, *, is_chord_note: bool) -> Element:
    """The <notations> of one note, perhaps empty; a further note of a chord only has its ties."""
    notations = Element("notations")
    is_silent = at.event.choice.move is None
    if not is_silent:
        add_ties(notations, "tied", at)
    if is_chord_note:
        return notations
    add_tuplet(notations, at.measure, at.piece)
    if not is_silent:
        _add_slides(notations, at)
        _add_vibrato(notations, at)
        _add_technical(notations, at)
    _add_slurs(notations, at)
    _add_articulations(notations, at)
    return notations

"""The score as MusicXML 4.0: staff notation with harmonica tab under every note.

MusicXML has no element for harmonica tab (W3C, MusicXML 4.0, 2021). The tab stands as a lyric line, which
every notation program shows; each note also carries its move as data in <other-technical>, and its bends in
<bend>, whose depths add up to how far the reed is pressed under its natural note at each moment.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import lcm
from statistics import median
from xml.etree.ElementTree import Element, indent, tostring

from reedpath.arrange import Route
from reedpath.lesson import Lesson
from reedpath.page.score.elements import add, clean_text
from reedpath.page.score.measures import Measure, measures_of
from reedpath.page.score.noting import NoteWriter
from reedpath.page.score.rhythm import VALUES
from reedpath.page.score.spelling import key_fifths
from reedpath.page.score.written import Sheet, sheet_of
from reedpath.phrase import timing_of
from reedpath.wording import Catalogue, harp_words, load_catalogue, position_words

__all__ = ["encode_musicxml"]

# name of the instrument, its sound in the MusicXML 4.0 list and its General MIDI program counted from 1
# (LilyPond Notation Reference, "MIDI instruments")
INSTRUMENT = "Harmonica"
INSTRUMENT_SOUND = "wind.reed.harmonica"
MIDI_PROGRAM = 23
# MIDI numbers of a phrase's middle above or below which its clef is moved an octave; from trial, so that
# few notes need more than three ledger lines
HIGH_CLEF_MIDI, LOW_CLEF_MIDI = 86, 57


@dataclass(frozen=True, slots=True)
class _Direction:
    """Something printed over a beat."""

    beats: Fraction
    element: Element


def _direction(placement: str = "above") -> tuple[Element, Element]:
    direction = Element("direction", placement=placement)
    return direction, add(direction, "direction-type")


def _tempo(bpm: float, beat: Fraction) -> Element:
    """A metronome mark in the metre's own beat; the sound stays in quarter notes a minute."""
    direction, kind = _direction()
    metronome = add(kind, "metronome")
    plain = beat if beat in VALUES else beat * Fraction(2, 3)
    if plain not in VALUES:
        plain = beat = Fraction(1)
    add(metronome, "beat-unit", VALUES[plain])
    if plain != beat:
        add(metronome, "beat-unit-dot")
    add(metronome, "per-minute", f"{float(bpm / beat):.4g}")
    add(direction, "sound", tempo=f"{bpm:.6g}")
    return direction


def _swing(ratio: Fraction, catalogue: Catalogue) -> Element:
    direction, kind = _direction()
    add(kind, "words", catalogue.sentence(catalogue.say("tempo.swing")).rstrip("."))
    swing = add(add(direction, "sound"), "swing")
    add(swing, "first", ratio.numerator)
    add(swing, "second", ratio.denominator)
    add(swing, "swing-type", "eighth")
    return direction


def _directions(sheet: Sheet, catalogue: Catalogue) -> Iterator[_Direction]:
    for part in sheet.parts:
        direction, kind = _direction()
        add(kind, "rehearsal", part.label)
        yield _Direction(part.onset, direction)
    for tempo in timing_of(sheet.route.phrase).tempos:
        bar = max((one for one in sheet.bars if one.onset <= tempo.onset), key=lambda one: one.onset)
        beats = bar.grid.beat_spans()
        beat = beats[0].length if len({one.length for one in beats}) == 1 else Fraction(1)
        yield _Direction(tempo.onset, _tempo(tempo.bpm, beat))
    if sheet.route.phrase.swing != 1:
        yield _Direction(Fraction(0), _swing(sheet.route.phrase.swing, catalogue))
    for note in sheet.notes:
        if not note.is_exact:
            direction, kind = _direction()
            add(kind, "words", "≈")
            yield _Direction(note.onset, direction)


def _clef_octaves(sheet: Sheet) -> int:
    if not sheet.notes:
        return 0
    middle = median(midi for note in sheet.notes for midi in note.midi)
    return 1 if middle > HIGH_CLEF_MIDI else -1 if middle < LOW_CLEF_MIDI else 0


def _attributes(element: Element, sheet: Sheet, measure: Measure, divisions: int, *, is_first: bool) -> None:
    if not is_first and not measure.bar.shows_metre:
        return
    attributes = add(element, "attributes")
    if is_first:
        add(attributes, "divisions", divisions)
        key = add(attributes, "key")
        add(key, "fifths", key_fifths(sheet.route.phrase.key))
        if sheet.route.phrase.key:
            add(key, "mode", sheet.route.phrase.key.mode)
    time = add(attributes, "time")
    add(time, "beats", measure.bar.metre.count)
    add(time, "beat-type", measure.bar.metre.unit)
    if is_first:
        clef = add(attributes, "clef")
        add(clef, "sign", "G")
        add(clef, "line", 2)
        octaves = _clef_octaves(sheet)
        if octaves:
            add(clef, "clef-octave-change", octaves)


def _barline(element: Element, sheet: Sheet, measure: Measure) -> None:
    is_last = measure.bar is sheet.bars[-1] or measure.bar == sheet.bars[-1]
    starts_part = any(part.onset == measure.bar.end for part in sheet.parts)
    if is_last or starts_part:
        add(add(element, "barline", location="right"), "bar-style", "light-heavy" if is_last else "light-light")


def _measure(
    part: Element, sheet: Sheet, measure: Measure, directions: list[_Direction], writer: NoteWriter, divisions: int
) -> None:
    bar = measure.bar
    element = add(part, "measure", number=str(bar.number))
    if not bar.is_full:
        element.set("implicit", "yes")
    _attributes(element, sheet, measure, divisions, is_first=bar == sheet.bars[0])
    for index, piece in enumerate(measure.pieces):
        while directions and directions[0].beats < piece.end:
            one = directions.pop(0)
            late = round((one.beats - piece.onset) * divisions)
            if late > 0:
                offset = Element("offset")
                offset.text = str(late)
                one.element.insert(1, offset)
            element.append(one.element)
        writer.write(element, measure, index)
    _barline(element, sheet, measure)


def _identification(root: Element, sheet: Sheet) -> None:
    route = sheet.route
    identification = add(root, "identification")
    add(add(identification, "encoding"), "software", "reedpath")
    fields = {
        "harp": route.harp.name,
        "tuning": route.harp.tuning.title,
        "position": str(route.position or ""),
        "tab-notation": sheet.notation,
        "rhythm-rounded": " ".join(str(note.index) for note in sheet.notes if not note.is_exact),
    }
    miscellaneous = add(identification, "miscellaneous")
    for name, value in fields.items():
        if value:
            add(miscellaneous, "miscellaneous-field", value, name=f"reedpath-{name}")


def _part_list(root: Element, sheet: Sheet, catalogue: Catalogue) -> None:
    part = add(add(root, "part-list"), "score-part", id="P1")
    name = harp_words(sheet.route.harp, catalogue, with_tuning=True)
    if sheet.route.position:
        name += f", {position_words(sheet.route.position, catalogue)}"
    add(part, "part-name", name, print_object="no")
    instrument = add(part, "score-instrument", id="P1-I1")
    add(instrument, "instrument-name", INSTRUMENT)
    add(instrument, "instrument-sound", INSTRUMENT_SOUND)
    midi = add(part, "midi-instrument", id="P1-I1")
    add(midi, "midi-channel", 1)
    add(midi, "midi-program", MIDI_PROGRAM)


def encode_musicxml(
    source: Lesson | Route, *, notation: str | None = None, lang: str = "en", note_names: bool = False
) -> bytes:
    """A lesson or a route as MusicXML 4.0 (partwise), UTF-8.

    The notes are those that the harp sounds, in the order they are played (repeats written out); the event
    of index n has its note's ``id`` "e<n>", further notes of a chord "e<n>c1" and so on.

    Parameters
    ----------
    notation : name of the tab notation; the lesson's own where none is given.
    lang : catalogue of the few words in it.
    note_names : whether a second line under the tab names the notes.

    Raises `PageError` where the rhythm or metre cannot be written.
    """
    catalogue = load_catalogue(lang)
    sheet = sheet_of(source, notation=notation)
    measures = measures_of(sheet)
    lengths = (piece.end - piece.onset for measure in measures for piece in measure.pieces)
    divisions = lcm(*(length.denominator for length in lengths))
    root = Element("score-partwise", version="4.0")
    title = clean_text(sheet.title)
    if title:
        add(add(root, "work"), "work-title", title)
        add(root, "movement-title", title)
    _identification(root, sheet)
    _part_list(root, sheet, catalogue)
    part = add(root, "part", id="P1")
    names = [catalogue.note(midi) for midi in range(12)] if note_names else None
    writer = NoteWriter(sheet, divisions=divisions, note_names=names)
    directions = sorted(_directions(sheet, catalogue), key=lambda one: one.beats)
    for measure in measures:
        _measure(part, sheet, measure, directions, writer, divisions)
    indent(root, " ")
    text = tostring(root, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'.encode()

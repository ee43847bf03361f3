"""The score as MusicXML 4.0: staff notation with harmonica tab under every note.

MusicXML has no element for harmonica tab (W3C, MusicXML 4.0, 2021). The tab stands as a lyric line, which
every notation program shows; each note also carries its move as data in <other-technical>, and its bends in
<bend>, whose depths add up to how far the reed is pressed under its natural note at each moment.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import lcm
from statistics import median
from xml.etree.ElementTree import Element, indent, tostring

from reedpath.arrange import Route
from reedpath.lesson import Lesson, in_language
from reedpath.page.score.bars import ScoreBar
from reedpath.page.score.elements import add, clean_text
from reedpath.page.score.measures import Measure, measures_of
from reedpath.page.score.notes import NoteWriter
from reedpath.page.score.repeating import RepeatedBars, fold_repeated, repeated_bars
from reedpath.page.score.rhythm import Value, value_of
from reedpath.page.score.sheet import Sheet, note_namer, sheet_of
from reedpath.phrase import timing_of
from reedpath.pitch import key_fifths
from reedpath.wording import Catalogue, full_harp_words, load_catalogue, position_words, tempo_unit

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


def _direction() -> tuple[Element, Element]:
    direction = Element("direction", placement="above")
    return direction, add(direction, "direction-type")


def _tempo(bpm: float, unit: Fraction) -> tuple[Element, Element]:
    """A metronome mark in quarters, dotted quarters or eighths, and its <sound> in quarter notes a minute."""
    direction, kind = _direction()
    metronome = add(kind, "metronome")
    value = value_of(unit) or Value("quarter")
    add(metronome, "beat-unit", value.name)
    if value.dots:
        add(metronome, "beat-unit-dot")
    add(metronome, "per-minute", f"{bpm / float(unit):.3g}")
    return direction, add(direction, "sound", tempo=f"{bpm:.6g}")


def _add_swing(direction: Element, sound: Element, ratio: Fraction, catalogue: Catalogue) -> None:
    """Say before a tempo that its eighths are swung, and how far."""
    kind = Element("direction-type")
    add(kind, "words", catalogue.sentence(catalogue.say("tempo.swing")).rstrip("."))
    direction.insert(0, kind)
    swing = add(sound, "swing")
    add(swing, "first", ratio.numerator)
    add(swing, "second", ratio.denominator)
    add(swing, "swing-type", "eighth")


def _tempo_directions(sheet: Sheet, catalogue: Catalogue) -> Iterator[_Direction]:
    phrase = sheet.route.phrase
    for tempo in timing_of(phrase).tempos:
        direction, sound = _tempo(tempo.bpm, tempo_unit(sheet.bar_at(tempo.onset).metre))
        if phrase.swing != 1 and tempo.onset == 0:
            _add_swing(direction, sound, phrase.swing, catalogue)
        yield _Direction(tempo.onset, direction)


def _directions(sheet: Sheet, catalogue: Catalogue) -> Iterator[_Direction]:
    bar_lines = {bar.onset for bar in sheet.bars}
    for part in sheet.parts:
        direction, kind = _direction()
        if part.onset in bar_lines:
            add(kind, "rehearsal", part.label)
        else:
            # engravers put a rehearsal mark over the bar line before, so a part within a bar is named in words
            add(kind, "words", part.label, enclosure="square", font_weight="bold", font_style="normal")
        yield _Direction(part.onset, direction)
    yield from _tempo_directions(sheet, catalogue)
    for note in sheet.notes:
        doubtful = sheet.route.events[note.index].event.doubtful
        for sign, is_meant in (("?", doubtful), ("≈", not note.is_exact)):
            if is_meant:
                direction, kind = _direction()
                add(kind, "words", sign)
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
                one.element.insert(len(one.element.findall("direction-type")), offset)
            element.append(one.element)
        writer.write(element, measure, index)
    _barline(element, sheet, measure)


def _number(part: Element, written: Iterable[tuple[Element, ScoreBar]]) -> None:
    """Number the measures that are there as the source does.

    Where it would give a number twice, they are counted, since the number is what tells measures apart, and show that
    of the source as their ``text`` (W3C, MusicXML 4.0, 2021, "measure-attributes").
    """
    there = set(part.findall("measure"))
    kept = [(element, bar) for element, bar in written if element in there]
    is_clear = len({bar.printed.number for _, bar in kept}) == len(kept)
    for element, bar in kept:
        if is_clear:
            element.set("number", str(bar.printed.number))
        elif bar.printed.mark not in ("", str(bar.number)):
            element.set("text", bar.printed.mark)


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
    name = full_harp_words(sheet.route.harp, catalogue)
    if sheet.route.position:
        name += f", {position_words(sheet.route.position, catalogue)}"
    add(part, "part-name", name, print_object="no")
    instrument = add(part, "score-instrument", id="P1-I1")
    add(instrument, "instrument-name", INSTRUMENT)
    add(instrument, "instrument-sound", INSTRUMENT_SOUND)
    midi = add(part, "midi-instrument", id="P1-I1")
    add(midi, "midi-channel", 1)
    add(midi, "midi-program", MIDI_PROGRAM)


@dataclass(frozen=True, slots=True)
class MusicXmlScore:
    """A score in MusicXML.

    root : its tree.
    repeated : the bars that are written once in it, though they are played several times in a row.
    """

    root: Element
    repeated: tuple[RepeatedBars, ...]

    def encoded(self) -> bytes:
        """The bytes of its file."""
        indent(self.root, " ")
        text = tostring(self.root, encoding="unicode")
        return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'.encode()


def encode_musicxml(
    source: Lesson | Route,
    *,
    notation: str | None = None,
    catalogue: Catalogue | None = None,
    note_names: bool = False,
    fold_repeats: bool = False,
) -> bytes:
    """A lesson or a route as MusicXML 4.0 (partwise), UTF-8.

    The notes are those that the harp sounds, in the order they are played; the event of index n has its note's
    ``id`` "e<n>", further notes of a chord "e<n>c1" and so on.

    notation : name of the tab notation; the lesson's own where none is given.
    catalogue : language of the few words in it, English where none is given.
    note_names : whether a second line under the tab names the notes.
    fold_repeats : whether a part that comes again at once is written once, between repeat signs; its notes then
        have the ids of the first time.

    Raises `PageError` where the rhythm or metre cannot be written.
    """
    language = catalogue or load_catalogue("en")
    return score_of(source, language, notation=notation, note_names=note_names, fold_repeats=fold_repeats).encoded()


def score_of(
    source: Lesson | Route,
    language: Catalogue,
    *,
    notation: str | None = None,
    note_names: bool = False,
    fold_repeats: bool = False,
) -> MusicXmlScore:
    """The score that `encode_musicxml` writes, with the same arguments."""
    source = in_language(source, language.name) if isinstance(source, Lesson) else source
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
    _part_list(root, sheet, language)
    part = add(root, "part", id="P1")
    names = note_namer(sheet, language) if note_names else None
    writer = NoteWriter(sheet, divisions=divisions, names=names)
    directions = sorted(_directions(sheet, language), key=lambda one: one.beats)
    for measure in measures:
        _measure(part, sheet, measure, directions, writer, divisions)
    written = list(zip(part.findall("measure"), sheet.bars, strict=True))
    repeated = repeated_bars(part.findall("measure"), sheet) if fold_repeats and len(sheet.bars) > 1 else ()
    fold_repeated(part, repeated)
    _number(part, written)
    return MusicXmlScore(root, repeated)

"""Scoring: music21's reading of a cleaned part, put together with its marks into bars."""

from __future__ import annotations

import contextlib
import io
import warnings
from collections.abc import Iterator
from fractions import Fraction
from typing import Any
from xml.etree.ElementTree import Element

from reedpath.errors import ReadError
from reedpath.phrase import Ornaments
from reedpath.readers.bars import PLAIN, Bar, Note
from reedpath.readers.musicxml.cleaning import CleanMeasure, CleanPart
from reedpath.readers.musicxml.marks import Mark
from reedpath.readers.musicxml.staves import tablature_shift
from reedpath.readers.omissions import Omissions

__all__ = ["bars_of"]

# the finest fraction that music21 keeps of a quarter note (its DENOM_LIMIT)
_FINEST = 65_535
# what music21 may raise on a document that is sound but beyond it
_FAULTS = (ArithmeticError, AttributeError, LookupError, TypeError, ValueError, AssertionError, RecursionError)


@contextlib.contextmanager
def _quiet() -> Iterator[None]:
    """Keep music21's warnings, which it writes to several places, from the user."""
    with warnings.catch_warnings(), contextlib.redirect_stderr(io.StringIO()):
        warnings.simplefilter("ignore")
        yield


def _parse(root: Element) -> list[Any]:
    """Measures of the only part of a document, as music21 reads them."""
    from music21.exceptions21 import Music21Exception
    from music21.musicxml.xmlToM21 import MusicXMLImporter

    try:
        score = MusicXMLImporter().xmlRootToScore(root)
        return list(score.parts[0].getElementsByClass("Measure"))
    except (*_FAULTS, Music21Exception) as error:
        raise ReadError(f"music21 cannot read the part: {error}"[:300]) from error


def _exact(value: Any) -> Fraction:
    return Fraction(value).limit_denominator(_FINEST)


def _heads(element: Any) -> list[Any]:
    """Note heads of a note or chord."""
    return list(element.notes) if "Chord" in element.classes else [element]


class _Scorer:
    """Bars while they are made."""

    def __init__(self, clean: CleanPart, omissions: Omissions) -> None:
        self.marks = clean.marks
        self.omissions = omissions
        self.octaves = tablature_shift(clean.tablature)
        self.slides: dict[str, int] = {}

    def bar(self, measure: Any, beside: CleanMeasure) -> Bar:
        notes: list[Note] = []
        signals: list[tuple[Fraction, float | str]] = []
        length = Fraction(0)
        for container, start in (
            (measure, Fraction(0)),
            *((voice, _exact(voice.offset)) for voice in measure.voices),
        ):
            for element in container:
                onset = start + _exact(container.elementOffset(element))
                if "GeneralNote" in element.classes:
                    duration = _exact(element.duration.quarterLength)
                    length = max(length, onset + duration)
                    notes += self._notes(element, onset, duration)
                elif "TextExpression" in element.classes:
                    signals.append((max(onset, Fraction(0)), beside.signals[int(element.content[1:])]))
        return Bar(
            place=beside.place,
            length=length,
            notes=tuple(notes),
            metre=beside.metre,
            tempos=tuple((onset, bpm) for onset, bpm in signals if isinstance(bpm, float)),
            labels=tuple((onset, label) for onset, label in signals if isinstance(label, str)),
            signs=beside.posts.signs,
        )

    def _notes(self, element: Any, onset: Fraction, duration: Fraction) -> Iterator[Note]:
        if element.isRest or duration <= 0:
            return
        for head in _heads(element):
            mark = self.marks[int(head.style.color)]
            midi = round(head.pitch.ps) + mark.shift + self.octaves
            yield Note(
                onset,
                duration,
                midi,
                cents=mark.cents,
                ornaments=self._ornaments(mark, midi),
                pre_bend=mark.pre_bend - mark.bent_grace,
                bends=(mark.bent_grace, *mark.bends) if mark.bent_grace else mark.bends,
                tied_on=mark.tied_on,
                voice=mark.voice,
            )

    def _ornaments(self, mark: Mark, midi: int) -> Ornaments:
        slide_from = self._slide_from(mark, midi)
        height = mark.pre_bend + sum(step for step in mark.bends if step > 0)
        for number in mark.slide_starts:
            self.slides[number] = midi + round(height)
        if not (mark.accent or mark.vibrato or mark.graces or slide_from is not None or mark.slide_out):
            return PLAIN
        return Ornaments(
            slide_from=slide_from,
            slide_to=midi + mark.slide_out if mark.slide_out else None,
            vibrato=mark.vibrato,
            accent=mark.accent,
            graces=tuple(grace + self.octaves for grace in mark.graces),
        )

    def _slide_from(self, mark: Mark, midi: int) -> int | None:
        """Where a slide into the note comes from: the note that it begins on, a grace note, or nowhere said."""
        ends = [self.slides.pop(number) for number in mark.slide_stops if number in self.slides]
        if mark.slid_grace is not None:
            return mark.slid_grace + self.octaves
        if ends:
            return ends[0] if ends[0] != midi else None
        return midi + mark.slide_in if mark.slide_in else None


def bars_of(clean: CleanPart, omissions: Omissions) -> list[Bar]:
    """Bars of a cleaned part.

    Raises ReadError when music21 cannot read it.
    """
    with _quiet():
        measures = [measure for root in clean.roots for measure in _parse(root)]
    if len(measures) != len(clean.measures):
        raise ReadError(f"music21 finds {len(measures)} bars where the part has {len(clean.measures)}")
    scorer = _Scorer(clean, omissions)
    bars = [scorer.bar(measure, beside) for measure, beside in zip(measures, clean.measures, strict=True)]
    if scorer.slides:
        omissions.note("slides-to-nothing", count=len(scorer.slides))
    return bars

"""Kinds of numbers in data files, each with the range in which it means something.

The ranges hold for what is read from outside; they keep a damaged file from asking for hours of work.
"""

from __future__ import annotations

from typing import Annotated

from msgspec import Meta

__all__ = ["Bpm", "Cents", "Count", "Hertz", "Index", "Litres", "Midi", "Points", "Seconds", "Semitones", "Share"]

# twenty thousand is the most events that any reader takes (`readers.limits`), so no index or count goes beyond
MOST_EVENTS = 20_000

Midi = Annotated[int, Meta(ge=0, le=127, description="MIDI number; 60 is middle C.")]
Index = Annotated[int, Meta(ge=0, lt=MOST_EVENTS, description="From 0.")]
Count = Annotated[int, Meta(ge=0, le=MOST_EVENTS)]
# quarter notes a minute; what the readers of scores take
Bpm = Annotated[float, Meta(ge=1.0, le=1000.0, description="Quarter notes a minute.")]
# ten octaves are the whole of hearing
Semitones = Annotated[float, Meta(ge=-120.0, le=120.0)]
# an octave: whatever lies further off is another note
Cents = Annotated[float, Meta(ge=-1200.0, le=1200.0)]
# what tuners and synthesizers offer; common practice, no source
Hertz = Annotated[float, Meta(ge=220.0, le=880.0)]
Share = Annotated[float, Meta(ge=0.0, le=1.0)]
# ours: no route of MOST_EVENTS comes near it
Points = Annotated[float, Meta(ge=-1e9, le=1e9)]
# litres; no lungs hold more (total capacity about 6, common knowledge, no source)
Litres = Annotated[float, Meta(ge=-100.0, le=100.0)]
# a week of sound
Seconds = Annotated[float, Meta(ge=-604_800.0, le=604_800.0)]

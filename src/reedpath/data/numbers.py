"""Kinds of numbers in data files, each with the range in which it means something.

The ranges hold for what is read from outside; they keep a damaged file from asking for hours of work.
"""

from __future__ import annotations

from typing import Annotated

from msgspec import Meta

# what is said of a text that is no fraction, as msgspec says its problems
NO_FRACTION = "Expected a fraction"

# as many events as the repeats of a phrase may unfold to (`phrase.performance`)
MOST_EVENTS = 200_000
# quarter notes a minute: readers take 1 to 1,000; where 10 to 500 are asked for the first, the others follow it
SLOWEST_BPM, FASTEST_BPM = 0.01, 500_000.0

Midi = Annotated[int, Meta(ge=0, le=127, description="MIDI number; 60 is middle C.")]
Index = Annotated[int, Meta(ge=0, lt=MOST_EVENTS, description="From 0.")]
Bpm = Annotated[float, Meta(ge=SLOWEST_BPM, le=FASTEST_BPM, description="Quarter notes a minute.")]
# ten octaves are the whole of hearing
Semitones = Annotated[float, Meta(ge=-120.0, le=120.0)]
# an octave: whatever lies further off is another note
Cents = Annotated[float, Meta(ge=-1200.0, le=1200.0)]
Share = Annotated[float, Meta(ge=0.0, le=1.0)]
# ours: no route of so many events comes near it
Points = Annotated[float, Meta(ge=-1e9, le=1e9)]
# no lungs hold more (total capacity about 6 litres, common knowledge, no source)
Litres = Annotated[float, Meta(ge=-100.0, le=100.0)]

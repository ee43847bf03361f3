"""Where a phrase sits in a form, in words: the chords under it, and why it sits there or does not."""

from __future__ import annotations

from collections.abc import Sequence
from functools import reduce

from reedpath.harmony import Chord, Form, FormPlace, LinePlace, NoteHeard, NoteKind, Rating
from reedpath.phrase import PrintedBar
from reedpath.pitch import Key
from reedpath.wording.bars import bars_words
from reedpath.wording.catalogue import Catalogue
from reedpath.wording.instruments import named_words

# bars that are written in one row; as `harmony` counts a line
ROW_BARS = 4


def form_rows(form: Form, key: Key) -> str:
    """The chords of a form in rows of four bars: "I I I I / IV IV I I / V IV I V"."""
    bars = [
        "-".join(chord.printed for chord in form.chords_of_bar(bar, key)) for bar in range(len(form.bars))
    ]  # fmt: skip
    return " / ".join(" ".join(bars[at : at + ROW_BARS]) for at in range(0, len(bars), ROW_BARS))


def chords_words(chords: Sequence[Chord], catalogue: Catalogue) -> str:
    """The chords under a phrase: "over IV and I"."""
    return catalogue.say("harmony.over", chords=catalogue.join(list(dict.fromkeys(one.printed for one in chords))))


def place_bars_words(place: FormPlace, catalogue: Catalogue) -> str:
    """The bars of the form that a phrase takes: "bar 5", "bars 11 to 12, as a turnaround"."""
    told = bars_words([PrintedBar(bar, 1) for bar in range(place.bar, place.last_bar + 1)], catalogue)
    return catalogue.say("harmony.turnaround", bars=told) if place.is_turnaround else told


def place_starts_words(places: Sequence[FormPlace], catalogue: Catalogue) -> str:
    """The bars of the form at which a phrase stands: "bars 1, 5 and 9"."""
    return bars_words([PrintedBar(place.bar, 1) for place in places], catalogue, singly=True)


def _rest(note: NoteHeard, note_name: str, catalogue: Catalogue) -> str:
    chord, bar, over = note.chord.printed, note.bar, note.over
    if over.kind is NoteKind.CHORD:
        return catalogue.say(
            "harmony.rest.chord", on=catalogue.say(f"harmony.on.{over.degree}"), chord=chord, bar=bar
        )
    if over.kind in (NoteKind.AVOID, NoteKind.BLUE_RUB):
        against = catalogue.say(f"harmony.against.{over.degree}")
        return catalogue.say("harmony.rest.rub", note=note_name, against=against, chord=chord, bar=bar)
    return catalogue.say(f"harmony.rest.{over.kind}", note=note_name, chord=chord, bar=bar)


def _rubbing(note: NoteHeard, note_name: str, catalogue: Catalogue) -> str:
    against = catalogue.say(f"harmony.against.{note.over.degree}")
    chord, bar = note.chord.printed, note.bar
    if note.beat is None:
        return catalogue.say("harmony.rubs_off_beat", note=note_name, bar=bar, against=against, chord=chord)
    return catalogue.say("harmony.rubs", note=note_name, beat=note.beat, bar=bar, against=against, chord=chord)


def _telling(note: NoteHeard, note_name: str, catalogue: Catalogue) -> str:
    degree = catalogue.say(f"harmony.is.{note.over.degree}")
    return catalogue.say(
        "harmony.telling", note=note_name, beat=note.beat or 1, degree=degree, chord=note.chord.printed
    )


def place_reason(place: FormPlace, key: Key, catalogue: Catalogue, *, tells_rubs: bool = False) -> str:
    """
    Why a phrase sits at a place, or does not, in one sentence; empty for a phrase without notes.

    tells_rubs : whether a note that rubs is told of a place that is good all the same.
    """

    def name(note: NoteHeard) -> str:
        return catalogue.note(note.midi, spoken=True, tonic=key.tonic)

    rest, rubbing = place.rest, place.rubbing if tells_rubs or place.rating is not Rating.GOOD else None
    if rest is None:
        return ""
    told = [_rest(rest, name(rest), catalogue)]
    if rubbing is not None and rubbing.event != rest.event:
        told.append(_rubbing(rubbing, name(rubbing), catalogue))
    elif rubbing is None and place.telling is not None:
        told.append(_telling(place.telling, name(place.telling), catalogue))
    if place.line is LinePlace.ACROSS:
        told.append(catalogue.say("harmony.across"))
    return catalogue.sentence(reduce(lambda a, b: catalogue.say("harmony.link", a=a, b=b), told))


def form_title(form: Form, catalogue: Catalogue) -> str:
    """A form's title: the catalogue's for a shipped one, else its own."""
    title = named_words("form", form.name, catalogue)
    return form.title if title == form.name else title

"""Together: what several holes give at once, as a teacher names it: an interval or a chord."""

from __future__ import annotations

from collections.abc import Mapping

from reedpath.arrange import ChangeKind, Route
from reedpath.harp import Breath, Move, midi_of
from reedpath.lesson.sentences import Speaker

# semitones of an octave
OCTAVE = 12
# chords by the semitones of their notes over the root; keys of the catalogues under "together"
CHORDS: Mapping[frozenset[int], str] = {
    frozenset({0, 4, 7}): "major",
    frozenset({0, 3, 7}): "minor",
    frozenset({0, 4, 7, 10}): "seventh",
    frozenset({0, 3, 6}): "diminished",
}


def _holes_of(move: Move) -> tuple[tuple[int, ...], Breath]:
    return move.holes, move.breath


def first_together(route: Route) -> frozenset[int]:
    """The events at which several holes sound together that did not before."""
    firsts: dict[object, int] = {}
    for index, one in enumerate(route.events):
        move = one.choice.move
        if move is not None and len(move.holes) > 1:
            firsts.setdefault(_holes_of(move), index)
    return frozenset(firsts.values())


def _chord(midi: tuple[int, ...]) -> tuple[str, int] | None:
    """Which chord notes make, and its root; None for one that has no plain name."""
    classes = {note % OCTAVE for note in midi}
    for root in sorted(classes):
        kind = CHORDS.get(frozenset((note - root) % OCTAVE for note in classes))
        if kind is not None:
            return kind, root
    return None


def _split(route: Route, index: int) -> bool:
    move = route.events[index].choice.move
    return move is not None and move.is_split


def together_sentences(route: Route, index: int, speaker: Speaker) -> list[str]:
    """What is said of several holes where they first sound together: their notes and interval, the tongue's part."""
    move = route.events[index].choice.move
    assert move is not None, "nothing sounds together where nothing is played"
    midi = tuple(sorted(set(midi_of(route.harp, move))))
    words, spelt = speaker.catalogue, route.fifths(index)
    notes = words.join([words.note(one, spelt=spelt) for one in midi])
    told: list[str] = []
    if len(midi) == 2:
        width = midi[1] - midi[0]
        octave = width % OCTAVE == 0
        interval = speaker.say("together.interval", count=width)
        if octave and any(change.kind is ChangeKind.ADDED for change in route.events[index].choice.changes):
            pass  # that it is the octave of the source's note is said as a change
        elif move.is_split and octave:
            told.append(speaker.sentence("together.octave", interval=interval))
        else:
            key = "together.split" if move.is_split else "together.pair"
            told.append(speaker.sentence(key, notes=notes, interval=interval))
    elif (chord := _chord(midi)) is not None:
        kind, root = chord
        told.append(speaker.sentence(f"together.{kind}", notes=notes, root=words.note(root, spelt=spelt)))
    if move.is_split and not any(_split(route, before) for before in range(index)):
        told.append(speaker.sentence("together.tongue"))
    return told

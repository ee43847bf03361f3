"""A phrase from plain data, as `phrase_as_data` writes it; every error names its place in the data."""

from __future__ import annotations

from reedpath.phrase.events import Event, Metre, Ornaments, Part, Phrase, Repeat, Tempo
from reedpath.phrase.left_out import LeftOut, left_out_in_words, left_out_kinds, plain_text
from reedpath.phrase.placed import Placed
from reedpath.pitch import Key

__all__ = ["midi_at", "phrase_from_data"]

# MIDI numbers
LOWEST_MIDI, HIGHEST_MIDI = 0, 127


def midi_at(at: Placed) -> int:
    """A MIDI number."""
    return at.whole(least=LOWEST_MIDI, most=HIGHEST_MIDI)


def _ornaments(at: Placed) -> Ornaments:
    return Ornaments(
        bend_in=at["bend_in_semitones"].fraction(),
        release=at["release_semitones"].fraction(),
        slide_from=at["slide_from_midi"].maybe(midi_at),
        slide_to=at["slide_to_midi"].maybe(midi_at),
        vibrato=at["vibrato"].yes(),
        accent=at["accent"].yes(),
        graces=at["graces_midi"].all(midi_at),
    )


def _event(at: Placed) -> Event:
    with at.reading():
        return Event(
            at["onset_beats"].fraction(),
            at["duration_beats"].fraction(),
            at["midi"].all(midi_at),
            _ornaments(at["ornaments"]),
            at["cents"].all(Placed.number),
            at["place"].text(),
            at["grace"].yes(),
        )


def _key(at: Placed) -> Key:
    with at.reading():
        return Key(at["tonic"].whole(), at["mode"].text())


def _left_out(at: Placed) -> LeftOut:
    """What was left out; where a file names no kind that is known here, its English text says which."""
    what, place, count = at["what"].text(), plain_text(at["place"].text()), at["count"].whole(least=1)
    kind = at["kind"].text() if at.has("kind") else ""
    if kind not in left_out_kinds() or kind == "unlisted":
        return left_out_in_words(what, place, count)
    gaps = sorted(left_out_kinds()[kind].gaps)
    return LeftOut(kind, place, count, tuple((name, plain_text(at["values"][name].text())) for name in gaps))


def phrase_from_data(at: Placed) -> Phrase:
    """The phrase that placed data describe; a ReadError names the place of what does not hold."""
    with at.reading():
        return Phrase(
            events=at["events"].all(_event),
            title=at["title"].text(),
            metres=at["metres"].all(
                lambda one: Metre(
                    one["onset_beats"].fraction(), one["count"].whole(least=1), one["unit"].whole(least=1)
                )
            ),
            tempos=at["tempos"].all(lambda one: Tempo(one["onset_beats"].fraction(), one["bpm"].number())),
            key=at["key"].maybe(_key),
            swing=at["swing"].fraction(),
            pickup=at["pickup_beats"].fraction(),
            parts=at["parts"].all(
                lambda one: Part(one["label"].text(), one["onset_beats"].fraction(), one["end_beats"].fraction())
            ),
            repeats=at["repeats"].all(
                lambda one: Repeat(
                    one["onset_beats"].fraction(), one["end_beats"].fraction(), one["times"].whole(least=1)
                )
            ),
            left_out=at["left_out"].all(_left_out),
        )

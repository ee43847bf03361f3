"""The example phrases: invented, saying so, readable, and playable on the harp they are meant for."""

from fractions import Fraction as F
from pathlib import Path

import pytest

from reedpath.harp import make_harp, position_between, reach_of
from reedpath.phrase import Phrase, find_key, performed
from reedpath.pitch import Key
from reedpath.readers import find_reader, read_phrase

ROOT = Path(__file__).parents[2]
EXAMPLES = {path.name: path for path in sorted((ROOT / "examples").glob("*.*")) if path.suffix in (".txt", ".abc")}
# name, reader, key, harp, position
MEANT_FOR = [
    ("two-questions.txt", "fret-tab", Key(4), "A", 2),
    ("shuffle-in-e.txt", "fret-tab", Key(4), "A", 2),
    ("slow-walk-in-a-minor.txt", "fret-tab", Key(9, "minor"), "G", 3),
    ("orchard-gate.abc", "abc", Key(7), "C", 2),
    ("boxcar-in-a.txt", "harmonica-tab", Key(9), "D", 2),
]


def read(name: str) -> Phrase:
    return read_phrase(EXAMPLES[name].read_bytes(), name=name)


@pytest.mark.parametrize(("name", "reader", "key", "harp", "position"), MEANT_FOR)
def test_examples_say_what_they_are_and_fit_a_harp_without_overbends(name, reader, key, harp, position):
    text = EXAMPLES[name].read_text(encoding="utf-8")
    assert "nvented for reedpath" in text
    assert find_reader(text.encode(), name=name).name == reader
    phrase = performed(read(name))
    assert phrase.key == key
    assert find_key(phrase).key == key
    instrument = make_harp(harp)
    assert position_between(instrument.key_midi % 12, key.tonic) == position
    reach = reach_of(instrument.tuning)
    for step in {midi - instrument.key_midi for event in phrase.events for midi in event.midi}:
        assert any(not move.alteration.is_overbend for move in reach.moves_for(step)), step


def test_every_example_is_meant_for_a_harp():
    assert set(EXAMPLES) == {name for name, *_ in MEANT_FOR}


def test_the_demo_phrase_is_an_example():
    shipped = ROOT / "src" / "reedpath" / "jobs" / "demo" / "two-questions.txt"
    assert shipped.read_bytes() == EXAMPLES["two-questions.txt"].read_bytes()


def test_the_twelve_bars_have_what_a_lesson_shows():
    phrase = read("shuffle-in-e.txt")
    assert (phrase.swing, phrase.tempos[0].bpm, phrase.end) == (2, 96.0, 48)
    assert [part.label for part in phrase.parts] == [
        "Call", "Answer", "Call again", "Answer again", "Turn", "Turnaround",
    ]  # fmt: skip
    ornaments = [event.ornaments for event in phrase.events]
    assert any(one.bend_in for one in ornaments)
    assert any(one.release for one in ornaments)
    assert any(one.slide_from for one in ornaments)
    assert any(one.graces for one in ornaments)
    assert any(one.vibrato for one in ornaments)
    assert phrase.left_out == ()
    first, again = ([(e.onset - p.onset, e.midi) for e in phrase.events if p.onset <= e.onset < p.end]
                    for p in (phrase.parts[0], phrase.parts[2]))  # fmt: skip
    assert first == again
    assert all(59 <= midi <= 83 for event in phrase.events for midi in event.midi)
    assert phrase.events[0].onset == F(0)

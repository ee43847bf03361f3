"""docs/sources-tab.md: every example is read as it says, and every technique, notation and option is there."""

import re
from pathlib import Path

import pytest

from reedpath.harp import notation_names
from reedpath.phrase import Event, Phrase
from reedpath.pitch import midi_name
from reedpath.readers import read_phrase, reader_of
from reedpath.readers.fret_tab.signs import customary_signs

PAGE = (Path(__file__).parents[2] / "docs" / "sources-tab.md").read_text(encoding="utf-8")
EXAMPLES = re.findall(r"```(tab|harmonica-tab)\n(.*?)```\n```notes\n(.*?)```", PAGE, re.DOTALL)


def described(event: Event) -> str:
    o = event.ornaments
    words = [str(event.onset), str(event.duration), "+".join(midi_name(midi) for midi in event.midi)]
    words += ["bend-in", str(o.bend_in)] if o.bend_in else []
    words += ["release", str(o.release)] if o.release else []
    words += ["slide-from", midi_name(o.slide_from)] if o.slide_from is not None else []
    words += ["vibrato"] if o.vibrato else []
    return " ".join(words)


def lines_of(phrase: Phrase) -> list[str]:
    repeats = [f"repeat {one.onset} to {one.end}, {one.times} times" for one in phrase.repeats]
    return [described(event) for event in phrase.events] + repeats


@pytest.mark.parametrize(("kind", "source", "notes"), EXAMPLES)
def test_examples_are_read_as_the_page_says(kind, source, notes):
    name = "fret-tab" if kind == "tab" else "harmonica-tab"
    assert lines_of(read_phrase(source.encode(), format=name)) == notes.splitlines()


def test_every_block_of_tab_has_its_notes():
    assert len(EXAMPLES) == len(re.findall(r"```(?:tab|harmonica-tab)\n", PAGE)) >= 10


def test_every_customary_sign_is_on_the_page():
    table = PAGE.split("### Signs on the strings")[1].split("```tab")[0].replace("\\|", "|")
    codes = "".join(re.findall(r"`([^`]+)`", table))
    for sign in customary_signs().signs:
        assert sign.lower() in codes.lower(), sign


def test_every_notation_and_option_is_on_the_page():
    for name in (*notation_names(), *reader_of("fret-tab").options, *reader_of("harmonica-tab").options):
        assert f"`{name}`" in PAGE, name

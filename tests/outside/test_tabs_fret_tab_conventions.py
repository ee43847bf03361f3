"""Fret tab against published descriptions of the customary letters.

Sources: Wikipedia, "ASCII tab" (worked example of a C major chord, `4b5`, high e on top); the guitartabs wiki,
"Tablature", and H. Wright, "Guide to TAB notation", 1995 (lists of letters); MIDI numbers of the strings and of the
highest frets: standard tuning E2 A2 D3 G3 B3 E4 with A4 = MIDI 69 (MIDI Tuning Standard).
"""

import pytest

from reedpath.phrase import Phrase
from reedpath.pitch import midi_name
from reedpath.readers import read_phrase
from reedpath.readers.fret_tab.signs import Technique, customary_signs, with_legend

pytestmark = pytest.mark.outside


def read(text: str) -> Phrase:
    return read_phrase(text.encode(), format="fret-tab")


def names(phrase: Phrase) -> list[list[str]]:
    return [[midi_name(midi) for midi in event.midi] for event in phrase.events]


# Wikipedia, "ASCII tab": a C major chord in standard tuning, the sixth string not played
C_CHORD = """\
        C
e |-----0------|
B |-----1------|
G |-----0------|
D |-----2------|
A |-----3------|
E |-----x------|
"""

# a lesson's E major chord, all six strings (common practice, no source)
E_CHORD = """\
e|-----0-----|
B|-----0-----|
G|-----1-----|
D|-----2-----|
A|-----2-----|
E|-----0-----|
"""


def test_chords_of_the_handbooks():
    assert names(read(C_CHORD)) == [["C3", "E3", "G3", "C4", "E4"]]
    assert names(read(C_CHORD.replace("x", "-"))) == [["C3", "E3", "G3", "C4", "E4"]]
    assert names(read(E_CHORD)) == [["E2", "B2", "E3", "Ab3", "B3", "E4"]]


def test_the_top_line_is_the_high_string_and_frets_add_semitones():
    rows = [("e", 64), ("B", 59), ("G", 55), ("D", 50), ("A", 45), ("E", 40)]
    for index, (_, open_midi) in enumerate(rows):
        for fret in (0, 1, 12, 22, 24):
            body = f"-{fret}".ljust(6, "-")
            text = "\n".join(f"{name}|{body if at == index else '------'}|" for at, (name, _) in enumerate(rows))
            assert read(text).events[0].midi == (open_midi + fret,)


def test_the_highest_notes_of_22_and_24_frets():
    assert midi_name(64 + 22) == "D6"
    assert midi_name(64 + 24) == "E6"


def test_4b5_is_fret_4_bent_to_the_pitch_of_fret_5():
    rest = "\n".join(f"{name}|------|" for name in "BGDAE")
    (bent,), (fretted,) = (read(f"e|{body}|\n{rest}").events for body in ("-4b5--", "-5----"))
    assert bent.midi == fretted.midi
    assert bent.ornaments.bend_in == 1
    assert not fretted.ornaments


# the guitartabs wiki, "Tablature", and H. Wright 1995: sign and what it is called there
PUBLISHED = {
    "h": "hammer on",
    "p": "pull off",
    "b": "bend string up",
    "r": "release bend",
    "/": "slide up",
    "\\": "slide down",
    "v": "vibrato (sometimes written as ~)",
    "t": "right hand tap",
    "s": "legato slide",
    "S": "shift slide",
    "*": "natural harmonic",
    "tr": "trill",
    "T": "tap",
    "=": "hold bend",
    "x": "heavy damping",
    "~": "vibrato",
}


def test_custom_agrees_with_the_published_lists():
    customary = customary_signs()
    for sign, words in PUBLISHED.items():
        understood = with_legend(customary, [f"{sign} = {words}"])
        assert understood.signs[sign] == customary.signs[sign], sign


@pytest.mark.parametrize("form", ["{} = {}", "{} - {}", "{} : {}", "{} {}", "  {}   {}", '"{}" = {}'])
def test_a_published_list_works_as_a_legend_in_any_layout(form):
    bare = customary_signs()
    understood = with_legend(bare, [form.format(sign, words) for sign, words in PUBLISHED.items()])
    assert dict(understood.signs) == dict(bare.signs)


def test_clashes_between_published_legends_are_settled_by_the_file():
    # v and ^ are strokes in some lists, vibrato and bend in others; p is a bass player's pop
    signs = with_legend(customary_signs(), ["v = Uppicking", "^ = Downpicking", "p = pop"]).signs
    assert {signs["v"], signs["^"], signs["p"]} == {Technique.IGNORE}
    assert customary_signs().signs["^"] == Technique.BEND

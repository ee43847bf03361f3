"""MusicXML held to the examples of its reference.

Source: MusicXML 4.0, W3C Music Notation Community Group, https://www.w3.org/2021/06/musicxml40/: the example of each
element named below, and the tutorial on tablature. Elements that show only looks (stems, positions) are left out.
"""

from fractions import Fraction

import pytest

from reedpath.pitch import midi_name
from reedpath.readers import read_phrase
from support.written_sources import measure, score

pytestmark = pytest.mark.outside

TUNING = """
<staff-details><staff-lines>6</staff-lines>
<staff-tuning line="1"><tuning-step>E</tuning-step><tuning-octave>2</tuning-octave></staff-tuning>
<staff-tuning line="2"><tuning-step>A</tuning-step><tuning-octave>2</tuning-octave></staff-tuning>
<staff-tuning line="3"><tuning-step>D</tuning-step><tuning-octave>3</tuning-octave></staff-tuning>
<staff-tuning line="4"><tuning-step>G</tuning-step><tuning-octave>3</tuning-octave></staff-tuning>
<staff-tuning line="5"><tuning-step>B</tuning-step><tuning-octave>3</tuning-octave></staff-tuning>
<staff-tuning line="6"><tuning-step>E</tuning-step><tuning-octave>4</tuning-octave></staff-tuning>
</staff-details>"""


def read(*notes: str, first: str = "<divisions>4</divisions>"):
    return read_phrase(score(measure(*notes), first=first), format="musicxml")


def test_bend():
    # the example shows only <technical>: string 4, fret 3 of the usual tuning is F3
    phrase = read(
        """<note><pitch><step>F</step><octave>3</octave></pitch><duration>4</duration>
        <notations><technical><bend shape="curved"><bend-alter>2</bend-alter></bend>
        <string>4</string><fret>3</fret></technical></notations></note>""",
        first=f"<divisions>4</divisions>{TUNING}",
    )
    (event,) = phrase.events
    assert (midi_name(event.midi[0]), event.ornaments.bend_in, event.ornaments.release) == ("G3", 2, 0)


def test_pre_bend():
    (event,) = read(
        """<note><pitch><step>B</step><alter>-1</alter><octave>3</octave></pitch><duration>8</duration>
        <voice>1</voice><type>half</type><notations><technical><string>3</string><fret>3</fret>
        <bend><bend-alter>-2</bend-alter><pre-bend/></bend></technical></notations></note>""",
        first=f"<divisions>4</divisions>{TUNING}",
    ).events
    assert (midi_name(event.midi[0]), event.duration) == ("C4", 2)
    assert (event.ornaments.bend_in, event.ornaments.release) == (0, 0)


def test_release():
    (event,) = read(
        """<note><pitch><step>E</step><octave>4</octave></pitch><duration>2</duration><voice>1</voice>
        <type>eighth</type><notations><technical><string>2</string><fret>5</fret>
        <bend shape="curved"><bend-alter>2</bend-alter></bend>
        <bend shape="curved"><bend-alter>-2</bend-alter><release offset="1"/></bend>
        </technical></notations></note>""",
        first=f"<divisions>4</divisions>{TUNING}",
    ).events
    assert (midi_name(event.midi[0]), event.duration) == ("F#4", Fraction(1, 2))
    assert (event.ornaments.bend_in, event.ornaments.release) == (2, 2)


def test_with_bar():
    dip = """<note><pitch><step>E</step><octave>5</octave></pitch><duration>4</duration><voice>1</voice>
        <type>quarter</type><notations><technical><bend><bend-alter>-1</bend-alter>
        <with-bar placement="above">dip</with-bar></bend></technical></notations></note>"""
    phrase = read(dip, dip)
    assert [midi_name(event.midi[0]) for event in phrase.events] == ["E5", "E5"]
    assert [(each.what, each.count) for each in phrase.left_out] == [("dips of the bar", 2)]


def test_swing():
    phrase = read(
        """<direction directive="yes" placement="above" system="only-top">
        <direction-type><words font-weight="bold">Medium swing</words></direction-type>
        <sound><swing><first>5</first><second>3</second><swing-type>eighth</swing-type>
        <swing-style>Light</swing-style></swing></sound></direction>""",
        "<note><pitch><step>C</step><octave>4</octave></pitch><duration>4</duration></note>",
    )
    assert phrase.swing == Fraction(5, 3)


def tab_note(step: str, alter: str, octave: int, duration: int, fret: int, technical: str) -> str:
    return (
        f"<note><pitch><step>{step}</step>{alter}<octave>{octave}</octave></pitch><duration>{duration}</duration>"
        f"<voice>1</voice><notations><technical>{technical}<string>3</string><fret>{fret}</fret></technical>"
        "</notations></note>"
    )


def test_tutorial_on_tablature():
    flat = "<alter>-1</alter>"
    phrase = read(
        tab_note("C", "", 4, 2, 5, '<hammer-on number="1" type="start">H</hammer-on>'),
        tab_note("D", "", 4, 2, 7, '<hammer-on number="1" type="stop"/>'),
        tab_note("E", flat, 4, 1, 8, '<pull-off number="1" type="start">P</pull-off>'),
        tab_note(
            "D", "", 4, 1, 7, '<pull-off number="1" type="stop"/><pull-off number="1" type="start">P</pull-off>'
        ),
        tab_note("C", "", 4, 2, 5, '<pull-off number="1" type="stop"/>'),
        first=f"<divisions>2</divisions><time><beats>4</beats><beat-type>4</beat-type></time>{TUNING}",
    )
    assert [midi_name(event.midi[0]) for event in phrase.events] == ["C4", "D4", "Eb4", "D4", "C4"]
    assert phrase.end == 4
    assert {(each.what.split()[0], each.count) for each in phrase.left_out} == {("hammer-ons", 1), ("pull-offs", 2)}

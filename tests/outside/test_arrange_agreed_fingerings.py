"""Fingerings that every player agrees on: common practice, no source (docs/arranging.md lists them).

The weights were tuned with the ones marked so; the others were held back and only ever used here.
Letters: b blow, d draw, ' a half-step bend, o an overblow; C harp, an ordinary player.
"""

from __future__ import annotations

import pytest

from reedpath.arrange import find_route, load_player
from reedpath.harp import make_harp
from support.built_phrases import line_of, short_tab

TUNED = {
    "C major, middle octave": ("C5 D5 E5 F5 G5 A5 B5 C6", "4b 4d 5b 5d 6b 6d 7d 7b"),
    "G blues scale, second position": ("G4 Bb4 C5 Db5 D5 F5 G5", "2d 3d' 4b 4d' 4d 5d 6b"),
    "G4 between two blow notes": ("E4 G4 E4", "2b 3b 2b"),
}
HELD_BACK = {
    "the same back": ("G5 F5 D5 Db5 C5 Bb4 G4", "6b 5d 4d 4d' 4b 3d' 2d"),
    "G major pentatonic from 2 draw": ("G4 A4 B4 D5 E5 G5", "2d 3d'' 3d 4d 5b 6b"),
    "D Dorian, third position, middle": ("D5 E5 F5 G5 A5 B5 C6 D6", "4d 5b 5d 6b 6d 7d 7b 8d"),
    "C blues scale at the top, first position": ("C6 Eb6 F6 F#6 G6 Bb6 C7", "7b 8b' 9d 9b' 9b 10b'' 10b"),
    "G4 alone": ("G4", "2d"),
    "octave with the tongue on the holes between": ("G4+G5", "3-6b"),
    "flat seventh with the tongue between": ("G4+F5", "2-5d"),
    "draw chord 1-2-3": ("D4+G4+B4", "1-2-3d"),
}


@pytest.mark.parametrize(("notes", "tab"), [*TUNED.values(), *HELD_BACK.values()], ids=[*TUNED, *HELD_BACK])
def test_agreed_fingering(notes, tab):
    assert short_tab(find_route(line_of(notes), make_harp("C"))) == tab


def test_low_octave_with_bends_takes_either_2_draw_or_3_blow():
    tab = short_tab(find_route(line_of("C4 D4 E4 F4 G4 A4 B4 C5"), make_harp("C")))
    assert tab in {"1b 1d 2b 2d'' 2d 3d'' 3d 4b", "1b 1d 2b 2d'' 3b 3d'' 3d 4b"}


def test_order_of_difficulty_of_draw_bends():
    """Draw bends 4 and 6 first, then 1, then 2, last 3 with its middle depth hardest; blow 8, 9, 10 (trade habit)."""
    harp = make_harp("C")

    def effort(note: str) -> float:
        return find_route(line_of(note), harp).effort.total

    easy = max(effort("Db5"), effort("Ab5"))
    assert easy < effort("Db4") < effort("F#4") < effort("F4") < effort("Ab4") < effort("A4")
    assert effort("Bb4") > effort("F4") or effort("Bb4") > effort("F#4")
    assert effort("Eb6") < effort("F#6") < effort("B6") < effort("Bb6")


def test_six_is_the_easiest_overblow_and_a_leap_from_2_draw_to_it_is_hard():
    """W. Yerxa's handbook extract (overblows 4, 5, 6 are the easiest, begin with 6); the leap: common practice."""
    harp, player = make_harp("C"), load_player("advanced")

    def effort(notes: str) -> float:
        return find_route(line_of(notes), harp, player=player).effort.total

    assert effort("Bb5") < effort("F#5") < effort("Eb5") < effort("Eb4")
    assert effort("G4 Bb5") > 1.3 * effort("G5 Bb5")

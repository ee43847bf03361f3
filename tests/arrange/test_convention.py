"""What players usually choose weighs in a survey, and can be seen."""

from __future__ import annotations

import pytest

from reedpath.arrange import survey
from reedpath.arrange.convention import colour_of
from reedpath.pitch import Key
from support.built_phrases import line_of

BLUES = "E4 G4 A4 E4 D4 E4 - B4 A4 G4 E4 D4 E4"


@pytest.mark.parametrize(
    ("notes", "key", "colour"),
    [
        (BLUES, Key(4), "blues"),
        ("E4 F#4 G#4 A4 B4 C#5 D#5 E5", Key(4), "major"),
        ("E4 F#4 G#4 A4 B4 C#5 D5 E5", Key(4), "blues"),
        ("A4 B4 C5 D5 E5 F5 G5 A5", Key(9, "minor"), "minor"),
        ("A4 C5 D5 Eb5 E5 G5 A5", Key(9, "minor"), "blues"),
        (BLUES, None, None),
    ],
)
def test_colours(notes, key, colour):
    assert colour_of(line_of(notes, key=key)) == colour


@pytest.mark.slow
def test_a_blues_in_e_is_played_on_an_a_harp_and_a_major_scale_on_its_own():
    """Cross harp for the blues, straight harp for the major scale: common practice, no source."""
    best = survey(line_of(BLUES, key=Key(4))).ranked[0]
    assert (best.harp.name, best.harp.tuning.name, best.position) == ("A", "standard", 2)
    best = survey(line_of("C5 D5 E5 F5 G5 A5 B5 C6", key=Key(0))).ranked[0]
    assert (best.harp.name, best.harp.tuning.name, best.position) == ("C", "standard", 1)


def test_custom_is_part_of_the_score_and_shown():
    for line in survey(line_of(BLUES, key=Key(4))).ranked:
        lost = (1 - line.truth) * 12 * 40
        assert line.score == pytest.approx(line.effort.total + lost + line.custom)

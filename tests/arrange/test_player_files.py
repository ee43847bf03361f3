"""Levels and weights are data; a wrong file says which file, key and value."""

from __future__ import annotations

from importlib.resources import files

import pytest

from reedpath.arrange import load_player, parse_levels, parse_weights
from reedpath.errors import SettingsError

LEVELS = (files("reedpath.arrange") / "levels.toml").read_text(encoding="utf-8")
WEIGHTS = (files("reedpath.arrange") / "weights.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (
            "overblows = false",
            "overblows = 1",
            r"'levels.first-months.overblows': 1 is not true or false",
        ),
        ("draw_bends = []", 'draw_bends = ["x"]', r"draw_bends\[0\]': \"x\" is not a whole number"),
        ("move_factor = 1.6", "move_factor = 0", "move_factor': 0 is too low: over 0"),
        ("splits = false", "spits = false", "levels.first-months.spits': there is no such field"),
        ('default = "steady"', 'default = "nobody"', "'nobody' names none of the"),
        ('default = "steady"', "default = ", "not TOML"),
    ],
)
def test_a_wrong_level_names_its_place(old, new, says):
    with pytest.raises(SettingsError, match=says):
        parse_levels(LEVELS.replace(old, new, 1))


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("seconds = 0.06 ", "seconds = -1 ", r"weights.toml, 'breath.seconds': -1 is too low: 0 at least"),
        ("comfort = [0.15, 0.85]", "comfort = [0.15]", "'air.comfort': 1 entries, where there are 2"),
        ("octave = 0.16 ", "", "'fit.octave': this is missing"),
        ("octave = 0.16 ", "octaves = 0.16 ", "'fit.octaves?': "),
        ("3 = [1.2, 1.4]", "3 = [1.2]", "'move.draw_bend': a gap of 3 semitones has 2 depths of bend"),
        ("other = 2.4", "", "'custom.blues.other': this is missing"),
    ],
)
def test_a_wrong_weight_names_its_place(old, new, says):
    with pytest.raises(SettingsError, match=says):
        parse_weights(WEIGHTS.replace(old, new, 1))


def test_an_unknown_level_lists_the_known_ones():
    with pytest.raises(SettingsError, match="there is no level named 'wizard'") as caught:
        load_player("wizard")
    assert "steady" in caught.value.hint

"""Scales: what ships, and what a wrong file is told."""

import pytest

from reedpath.errors import PitchError
from reedpath.pitch import MODES, load_scale, parse_scales, scale_names

GOOD = '[mine]\ntitle = "mine"\nsteps = [0, 3, 7]\ndegrees = ["1", "b3", "5"]\nsource = "invented"\n'
# semitones above the tonic of degrees 1 to 7; any handbook of music theory
NATURAL = dict(zip("1234567", (0, 2, 4, 5, 7, 9, 11), strict=True))


def test_the_scales_of_the_trade_ship():
    wanted = {"major", "natural-minor", "blues", "minor-pentatonic", "major-pentatonic", "dorian", "mixolydian"}
    assert wanted <= set(scale_names())
    assert set(MODES) <= set(scale_names())


@pytest.mark.parametrize("name", scale_names())
def test_degree_names_agree_with_steps(name):
    scale = load_scale(name)
    for step, degree in zip(scale.steps, scale.degrees, strict=True):
        assert NATURAL[degree.lstrip("b#")] - degree.count("b") + degree.count("#") == step
    assert scale.source


def test_the_blues_scale_on_g():
    # common practice, no source
    assert load_scale("blues").pitch_classes(7) == (7, 10, 0, 1, 2, 5)


def test_a_users_scale():
    assert parse_scales(GOOD)["mine"].steps == (0, 3, 7)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("[mine]", "[mine", "not TOML"),
        (GOOD, "mine = 3", "'mine': 3 is not an object"),
        ("steps", "step", "'mine.step': there is no such field"),
        ('title = "mine"\n', "", "'mine.title': this is missing"),
        ("[0, 3, 7]", '"0 3 7"', "'mine.steps': .*0 3 7.* is not a list"),
        ("[0, 3, 7]", "[0, 3.5, 7]", r"'mine.steps\[1\]': 3.5 is not a whole number"),
        ("[0, 3, 7]", "[0, true, 7]", r"'mine.steps\[1\]': true is not a whole number"),
        ("[0, 3, 7]", "[0, 7, 3]", "'mine': steps ascend from 0"),
        ("[0, 3, 7]", "[1, 3, 7]", "'mine': steps ascend from 0"),
        ("[0, 3, 7]", "[0, 3, 12]", "'mine': steps ascend from 0 to at most 11"),
        ("[0, 3, 7]", "[0, 3, 3]", "'mine': steps ascend from 0"),
        ("[0, 3, 7]", "[0, 3]", "'mine': 2 steps have 3 names"),
        (GOOD, "a = " + "[" * 5_000, "nested too deeply"),
    ],
)
def test_a_wrong_file_is_told_the_scale_and_the_key(old, new, message):
    assert old in GOOD
    with pytest.raises(PitchError, match=message):
        parse_scales(GOOD.replace(old, new, 1))


def test_an_unknown_name_lists_the_known_ones():
    with pytest.raises(PitchError, match="there is no scale named 'moll'") as caught:
        load_scale("moll")
    assert "natural-minor" in caught.value.hint

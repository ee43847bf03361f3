import re
from importlib.resources import files

import numpy as np
import pytest

from reedpath.data import read_toml
from reedpath.errors import SettingsError
from reedpath.hear import SourceTally, condition_of, observe
from reedpath.hear.boundaries import CLUE_NAMES, BoundaryWeights
from reedpath.hear.weights import read_weights
from reedpath.signal import Samples
from support.reed_tones import RATE, reed_tone, tune


def condition(sound):
    tally = SourceTally()
    return condition_of(observe(tally.passing(sound)), tally)


def test_a_clean_recording_has_nothing_to_be_said():
    told = condition(tune([60, 64, 67]))
    assert [told.silent, told.clipped, told.without_pitch, told.low_rate] == [False] * 4
    assert (told.rate, told.channels) == (RATE, 1)
    assert told.duration_seconds == pytest.approx(1.85, abs=0.001)


@pytest.mark.parametrize("blocks", [1, 4])
def test_clipping_is_counted(blocks):
    array = np.clip(reed_tone(69, 1.0, level=2.0).array, -1, 1)
    cut = float(np.mean(np.abs(array) >= 0.999))
    told = condition([Samples(part, RATE) for part in np.array_split(array, blocks)])
    assert told.clipped
    assert told.clipped_share == pytest.approx(cut, rel=2.0)


def test_one_full_value_is_no_clipping():
    array = reed_tone(69, 1.0).array.copy()
    array[1000] = 1.0
    assert not condition(Samples(array, RATE)).clipped


def test_the_weights_are_all_there():
    assert read_weights("boundaries.toml", BoundaryWeights).shape == (len(CLUE_NAMES),)


@pytest.mark.parametrize(
    ("change", "field", "problem"),
    [
        (lambda text: text[:-2] + "[weights", "", "TOML"),
        (lambda text: text + "[other]", "", "other"),
        (lambda text: text + "c = 2", "", "c"),
        (lambda text: re.sub("rise = .*", "rise = true", text, count=1), "rise", "true"),
        (lambda text: re.sub("rise = .*", "rise = nan", text, count=1), "rise", "-100"),
        (lambda text: re.sub("rise = .*", "", text, count=1), "rise", "missing"),
    ],
)
def test_a_wrong_data_file_names_the_key(change, field, problem):
    text = (files("reedpath.hear") / "boundaries.toml").read_text(encoding="utf-8")
    with pytest.raises(SettingsError, match=problem) as caught:
        read_toml(change(text), BoundaryWeights, file="boundaries.toml")
    assert caught.value.where.file == "boundaries.toml"
    assert caught.value.where.field.startswith(field)

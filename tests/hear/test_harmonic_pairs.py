"""Whether a second note sounds over another: tones of a stated recipe (recorded notes: bench/hear_octaves.py)."""

import numpy as np
import pytest

from reedpath.hear import observe, pair_log_odds
from reedpath.hear.harmonic import APART_NAMES, CLUE_NAMES, PARTINGS, apart_row, clue_row, partials_between
from reedpath.signal import concatenated, mixed, silence
from support.reed_tones import RATE, reed_tone

PAUSE = silence(0.3, rate=RATE)
SPAN = (0.3, 1.1)


def struck(*pitches):
    """Reeds that sound together for 0.8 s, from 0.3 s on."""
    together = mixed([reed_tone(midi, 0.8) for midi in pitches])
    return observe(concatenated([PAUSE, together, PAUSE]), chords=True)


@pytest.mark.parametrize("semitones", [12, 19, 24])
@pytest.mark.parametrize("low", [55, 62, 67])
def test_a_note_on_the_partials_of_another_is_likelier_than_none(low, semitones):
    alone = pair_log_odds(struck(low), SPAN, low, low + semitones)
    both = pair_log_odds(struck(low, low + semitones + 0.06), SPAN, low, low + semitones)
    assert both > alone + 1.0
    assert alone < 0.0


@pytest.mark.parametrize("semitones", [3, 4, 5, 7, 8, 9, 16])
def test_a_note_with_partials_of_its_own_is_plain(semitones):
    assert pair_log_odds(struck(60, 60 + semitones), SPAN, 60, 60 + semitones) > 2.0
    assert pair_log_odds(struck(60), SPAN, 60, 60 + semitones) < -2.0


def test_what_the_instrument_does_alone_counts():
    # an instrument whose second partial is strong in every note: its octaves are none
    def strong(midi):
        return mixed([reed_tone(midi, 0.8), reed_tone(midi + 12, 0.8, harmonics=2)])

    sound = concatenated([PAUSE, strong(60), PAUSE, strong(62), PAUSE])
    seen = observe(sound, chords=True)
    known = pair_log_odds(seen, SPAN, 60, 72, alone=[(1.4, 2.2, 62.0)])
    assert known < pair_log_odds(seen, SPAN, 60, 72)


def test_a_note_far_off_in_pitch_tells_nothing():
    sound = concatenated([PAUSE, reed_tone(60, 0.8), PAUSE, reed_tone(84, 0.8), PAUSE])
    seen = observe(sound, chords=True)
    assert pair_log_odds(seen, SPAN, 60, 72, alone=[(1.4, 2.2, 84.0)]) == pair_log_odds(seen, SPAN, 60, 72)


def test_a_note_too_short_for_a_long_window_has_only_the_constant():
    seen = struck(60)
    hz, magnitude = partials_between(seen, 0.3, 0.35)
    assert hz.shape == magnitude.shape == (0, 40)
    for row, names in ((clue_row(hz, magnitude, 60, 2), CLUE_NAMES), (apart_row(hz, magnitude, 60, 67), APART_NAMES)):
        assert row.tolist() == [1.0] + [0.0] * (len(names) - 1)


def test_every_clue_is_a_number():
    seen = struck(100, 112)
    hz, magnitude = partials_between(seen, *SPAN)
    for part in PARTINGS.values():
        assert np.isfinite(clue_row(hz, magnitude, 100, part, [(hz, magnitude, 98.0)])).all()


def test_partials_are_needed():
    seen = observe(reed_tone(60))
    with pytest.raises(ValueError, match="chords=True"):
        pair_log_odds(seen, (0.0, 0.5), 60, 72)

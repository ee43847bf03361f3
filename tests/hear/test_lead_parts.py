"""Parts of following a lead through a band, each by itself, on sounds made here."""

from types import SimpleNamespace

import numpy as np
import pytest

from reedpath.hear.lead.bass import bass_line
from reedpath.hear.lead.candidates import CLUE_NAMES, Whereabouts, candidates_of, clue_table
from reedpath.hear.lead.chords import chord_stretches
from reedpath.hear.lead.cutting import cut_into_notes
from reedpath.hear.lead.doubt import NOTE_CLUES, note_clues, right_chances
from reedpath.hear.lead.drums import drum_beats
from reedpath.hear.lead.harmony import _chroma, harmony_key
from reedpath.hear.lead.networks import Network, network
from reedpath.hear.lead.stereo import frame_count, pieces_of, stereo_at_rate
from reedpath.pitch import Key
from reedpath.signal import Samples

RATE = 16_000


def course(*parts):
    """A followed lead of parts of a pitch (None for a rest) and a length in frames."""
    midi = np.concatenate([np.full(frames, np.nan if pitch is None else float(pitch)) for pitch, frames in parts])
    clues = np.zeros((len(midi), len(CLUE_NAMES)), dtype=np.float32)
    return SimpleNamespace(
        midi=midi, voiced=~np.isnan(midi), log_odds=np.where(np.isnan(midi), np.nan, 5.0),
        rival=np.full(len(midi), -5.0), strength=np.full(len(midi), 0.4), clues=clues,
    )  # fmt: skip


def odds(frames, *begins):
    found = np.full(frames, -6.0)
    for at in begins:
        found[max(0, at - 1) : at + 2] = 1.0
        found[at] = 4.0
    return found


@pytest.mark.parametrize("rate", [8000, 16_000, 44_100])
def test_both_channels_are_kept_in_time(rate):
    times = np.arange(rate) / rate
    sound = Samples(np.stack([np.sin(2000 * times), np.zeros(rate)], axis=1).astype(np.float32), rate)
    array = stereo_at_rate(sound)
    assert len(array) == pytest.approx(RATE, abs=2)
    assert np.abs(array[:, 1]).max() < 1e-6
    blocks = [sound.span(0.0, 0.3), sound.span(0.3, 1.0)]
    assert np.allclose(stereo_at_rate(blocks)[: len(array) - 200], array[:-200], atol=1e-3)


def test_a_channel_that_is_upside_down_is_turned():
    tone = np.sin(np.arange(RATE) / 5).astype(np.float32)
    array = stereo_at_rate(Samples(np.stack([tone, -tone], axis=1), RATE))
    assert np.array_equal(array[:, 0], array[:, 1])


@pytest.mark.slow
def test_pieces_cover_all_frames_once():
    array = np.zeros((41 * RATE, 2), dtype=np.float32)
    told = [(whole, part, len(seen)) for whole, part, seen in pieces_of(array)]
    assert [whole.start for whole, _, _ in told] == [0, 2000, 4000]
    assert told[-1][0].stop == frame_count(array)
    assert all(part.stop - part.start == whole.stop - whole.start and part.stop <= size for whole, part, size in told)


def test_a_cut_lies_where_a_note_begins_and_a_bend_stays_in_its_note():
    lead = course((60, 30), (62, 30), (None, 10), (65, 40))
    notes = cut_into_notes(lead, odds(110, 0, 30, 70, 90))
    assert [(round(n.midi), round(n.start_seconds, 2), n.opens) for n in notes] == [
        (60, 0.0, True), (62, 0.3, False), (65, 0.7, True), (65, 0.9, False),
    ]  # fmt: skip
    bent = course((64, 40))
    bent.midi[:10] = np.linspace(62, 64, 10)
    assert len(cut_into_notes(bent, odds(40, 0))) == 1


def test_a_stretch_too_short_is_no_note():
    assert cut_into_notes(course((None, 20), (60, 4), (None, 20)), odds(44)) == []


def test_notes_have_clues_and_a_chance_each():
    lead = course((60, 30), (62, 30))
    begins = odds(60, 0, 30)
    notes = cut_into_notes(lead, begins)
    assert note_clues(lead, notes, begins).shape == (2, len(NOTE_CLUES))
    chances = right_chances(lead, notes, begins)
    assert ((chances >= 0) & (chances <= 1)).all()
    assert len(right_chances(lead, [], begins)) == 0


def test_networks_fit_and_one_that_does_not_is_refused():
    for name in ("first_look", "second_look", "beginnings", "right_notes"):
        net = network(name)
        assert net.log_odds(np.zeros((3, 2, len(net.clues)))).shape == (3, 2)
    with pytest.raises(ValueError, match="do not fit"):
        Network(("one",), ((1.0, 2.0),), (0.0,), (1.0,), (1.0,), 0.0)


def struck(bpm, seconds):
    """Bass drum and snare in turn, a cymbal on every half."""
    rng = np.random.default_rng(3)
    out = np.zeros(int(seconds * RATE) + RATE)
    fading = np.exp(-np.arange(RATE // 8) / (0.025 * RATE))
    kick = np.sin(2 * np.pi * 60 * np.arange(RATE // 8) / RATE) * fading
    noise = rng.normal(size=RATE // 8) * fading
    for half in range(int(seconds * bpm / 30)):
        at = int((0.1 + half * 30 / bpm) * RATE)
        part = np.diff(noise, prepend=0.0) * 0.3
        if half % 2 == 0:
            part = part + (kick * 2 if half % 4 == 0 else noise * 0.7)
        out[at : at + len(part)] += part
    return np.repeat(out[: int(seconds * RATE), np.newaxis], 2, axis=1).astype(np.float32)


@pytest.mark.parametrize("bpm", [76, 96, 126])
def test_the_tempo_of_drums(bpm):
    beats = drum_beats(struck(bpm, 14.0))
    assert beats.bpm == pytest.approx(bpm, rel=0.03)
    assert beats.seconds[0] <= 0.11
    assert beats.seconds[-1] >= 14.0 - 60 / bpm


def test_silence_and_a_moment_have_no_beat_and_no_key():
    assert drum_beats(np.zeros((8 * RATE, 2), dtype=np.float32)) is None
    assert drum_beats(struck(100, 1.0)) is None
    assert harmony_key(np.zeros((8 * RATE, 2), dtype=np.float32)).key is None
    assert harmony_key(np.zeros((100, 2), dtype=np.float32)).key is None


def chords(roots, thirds):
    times = np.arange(RATE) / RATE
    parts = []
    for root, third in zip(roots, thirds, strict=True):
        pitches = [(root - 24, 0.6), (root, 0.3), (root + third, 0.3), (root + 7, 0.3)]
        waves = [
            level * sum(np.sin(2 * np.pi * n * 440 * 2 ** ((midi - 69) / 12) * times) / n**2 for n in (1, 2, 3))
            for midi, level in pitches
        ]
        parts.append(sum(waves) * np.exp(-times))
    return np.repeat(np.concatenate(parts)[:, np.newaxis], 2, axis=1).astype(np.float32)


@pytest.mark.parametrize("up", [0, 5, 9])
def test_the_key_of_chords(up):
    major = chords([60 + up, 65 + up, 67 + up, 60 + up] * 3, [4, 4, 4, 4] * 3)
    assert harmony_key(major).key == Key(up, "major")
    minor = chords([60 + up, 65 + up, 67 + up, 60 + up] * 3, [3, 3, 4, 3] * 3)
    assert harmony_key(minor).key == Key(up, "minor")


# a key told by its dominant: handbooks of harmony (ii V I vi; the major chord on the fifth of a minor key)
@pytest.mark.parametrize("up", [0, 2, 7])
def test_the_key_of_chords_that_begin_on_another_than_the_tonic(up):
    cadence = chords([62 + up, 67 + up, 60 + up, 69 + up] * 3, [3, 4, 4, 3] * 3)
    assert harmony_key(cadence).key == Key(up, "major")
    minor = chords([65 + up, 67 + up, 60 + up, 60 + up] * 3, [3, 4, 3, 3] * 3)
    assert harmony_key(minor).key == Key(up, "minor")


def test_the_chords_under_a_record():
    profiles = _chroma(chords([60, 69, 65, 67], [4, 3, 4, 4]))
    found = chord_stretches(*profiles)
    assert [chord.root for chord in found] == [0, 9, 5, 7]
    assert [chord.minor > 0.5 for chord in found] == [False, True, False, False]
    assert all(chord.windows == pytest.approx(8, abs=2) for chord in found)


def tones(midis, *, seconds=0.5, harmonics=8):
    """Tones one after the other, each harmonic weaker by its number, as many channels as a record has."""
    times = np.arange(round(seconds * RATE)) / RATE
    parts = [
        sum(np.sin(2 * np.pi * n * 440 * 2 ** ((midi - 69) / 12) * times) / n for n in range(1, harmonics + 1))
        for midi in midis
    ]
    return np.repeat(np.concatenate(parts)[:, np.newaxis], 2, axis=1).astype(np.float32)


LOW, OVER_IT = [28, 35, 40, 45, 33, 28], [57, 52, 59, 64, 55, 50]


def test_the_bass_is_followed_under_a_lead():
    line = bass_line(tones(LOW) + 0.7 * tones(OVER_IT))
    for place, midi in enumerate(LOW):
        part = slice(50 * place + 15, 50 * place + 36)
        assert np.abs(line.midi[part] - midi).max() <= 0.5
        assert line.strength[part].min() > 0


def test_a_lone_guitar_has_no_bass():
    assert np.isnan(bass_line(tones([45, 52, 43, 50])).midi).all()
    assert np.isnan(bass_line(np.zeros((RATE, 2), dtype=np.float32)).midi).all()
    assert len(bass_line(np.zeros((0, 2), dtype=np.float32)).midi) == 0


def test_a_candidate_at_the_pitch_of_the_bass_is_told_from_the_leads():
    sound = tones(LOW) + 0.7 * tones(OVER_IT)
    found = candidates_of(sound, Whereabouts())
    clues = clue_table(found, Whereabouts(), bass_line(sound))
    on_bass, apart = (clues[..., CLUE_NAMES.index(name)] for name in ("on_bass", "bass_apart"))
    for place, (bass, lead) in enumerate(zip(LOW, OVER_IT, strict=True)):
        frame = 50 * place + 25
        strong = found.strength[frame] > 0
        own = strong & (np.abs(found.midi[frame] - lead) < 0.3)
        assert own.any()
        assert (on_bass[frame][own] == 0).all()
        assert apart[frame][own] == pytest.approx((lead - bass) / 12, abs=0.05)
        at_bass = strong & (np.abs(found.midi[frame] - bass) < 0.3)
        assert (on_bass[frame][at_bass] > 0.4).all()

"""Parts of following a lead through a band, each by itself, on sounds made here."""

from dataclasses import fields
from itertools import pairwise, product
from types import SimpleNamespace

import numpy as np
import pytest

from reedpath.hear.lead import contexts, hear_record
from reedpath.hear.lead.bass import bass_line
from reedpath.hear.lead.candidates import CLUE_NAMES, LeadCandidates, Whereabouts, candidates_of, clue_table
from reedpath.hear.lead.chords import chord_stretches
from reedpath.hear.lead.contexts import CONTEXT_NAMES, context_clues
from reedpath.hear.lead.courses import course_chances, likeliest_voice, voice_chances
from reedpath.hear.lead.cutting import cut_into_notes
from reedpath.hear.lead.doubt import NOTE_CLUES, note_clues, right_chances
from reedpath.hear.lead.drums import drum_beats
from reedpath.hear.lead.harmony import _chroma, harmony_key, share_beside
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
        level_db=np.full(len(midi), -20.0), chances=np.stack([~np.isnan(midi), np.isnan(midi)], axis=1) * 0.9 + 0.05,
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
    assert note_clues(lead, [], begins).shape == (0, len(NOTE_CLUES))


def test_clues_of_the_whole_record_are_those_of_each_of_its_notes():
    lead = course((60, 30), (62, 30))
    begins = odds(60, 0, 30)
    lead.chances[30:, 0] = 0.5
    rows = note_clues(lead, cut_into_notes(lead, begins), begins)
    whole = [index for index, name in enumerate(NOTE_CLUES) if name.startswith("record_")]
    assert len(whole) == 6
    assert np.array_equal(rows[0, whole], rows[1, whole])
    chance = rows[:, NOTE_CLUES.index("chance")]
    assert chance[0] > chance[1]
    assert rows[0, NOTE_CLUES.index("chance_after")] == chance[1]
    assert rows[1, NOTE_CLUES.index("chance_before")] == chance[0]


def test_networks_fit_and_one_that_does_not_is_refused():
    for name in ("first_look", "second_look", "in_context", "beginnings", "right_notes"):
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


def test_the_key_of_a_part_is_heard_with_what_surrounds_it():
    record = chords([60, 67, 60, 60, 65, 65, 65, 67] * 2, [4] * 16)
    part = slice(4 * RATE, 7 * RATE)  # nothing but the IV
    assert harmony_key(record[part]).key != Key(0, "major")
    assert harmony_key(record, part).key == Key(0, "major")


def test_the_key_of_a_part_that_has_another_key_is_its_own():
    record = np.concatenate([chords([60, 65, 67, 60], [4] * 4), chords([69, 62, 64, 69] * 4, [4] * 16)])
    assert harmony_key(record, slice(8 * RATE, 16 * RATE)).key == Key(9, "major")


def test_a_lead_that_plays_alone_is_told_from_one_over_chords():
    midi = np.repeat(OVER_IT, 50).astype(float)
    lead = tones(OVER_IT)
    assert share_beside(lead, midi) < 0.2
    assert share_beside(lead + 3 * chords([60, 65, 67], [4] * 3)[: len(lead)], midi) > 0.4
    assert share_beside(lead, np.full(len(midi), np.nan)) == pytest.approx(1.0)
    assert share_beside(np.zeros((RATE, 2), dtype=np.float32), midi) == 0.0


def test_a_lead_that_plays_alone_has_no_key_of_chords():
    assert hear_record(Samples(tones(OVER_IT), RATE)).key.key is None


@pytest.mark.slow
def test_a_span_is_heard_as_by_itself_but_for_its_key():
    sound = Samples(tones(LOW) + 2 * tones(OVER_IT), RATE)
    heard = hear_record(sound, start_seconds=0.5, end_seconds=2.5)
    alone = hear_record(sound.span(0.5, 2.5))
    assert len(heard.notes) >= 3
    told, expected = (
        [(note.start_seconds, note.end_seconds, note.midi, note.confidence) for note in one.notes]
        for one in (heard, alone)
    )
    assert told == expected
    assert heard.where == alone.where


def every_voice(midi, odds):
    """All ways through some candidates and silence, and the log likelihood of each by the definition of a course."""
    frames, count = midi.shape
    ways = list(product(range(count + 1), repeat=frames))
    likely = []
    for way in ways:
        total = sum(0.5 * np.clip(odds[at, one], -8, 8) for at, one in enumerate(way) if one < count)
        for at, (one, following) in enumerate(pairwise(way)):
            if (one == count) != (following == count):
                total -= 3.0
            elif one < count:
                apart = abs(midi[at + 1, following] - midi[at, one])
                total -= 1.5 * apart if apart < 0.6 else 3.0
        likely.append(total)
    return ways, np.array(likely)


@pytest.mark.parametrize("seed", range(6))
def test_a_voice_and_its_chances_are_those_of_all_ways_counted_one_by_one(seed):
    rng = np.random.default_rng(seed)
    midi = rng.choice([60.0, 60.3, 62.0, 67.0], size=(6, 2)) + rng.normal(0, 0.05, (6, 2))
    odds = rng.normal(0, 4, (6, 2))
    ways, likely = every_voice(midi, odds)
    path, total = likeliest_voice(midi, odds)
    assert total == pytest.approx(likely.max())
    assert tuple(2 if one < 0 else one for one in path) == ways[int(likely.argmax())]
    weights = np.exp(likely - likely.max())
    counted = np.zeros((6, 3))
    for way, weight in zip(ways, weights, strict=True):
        counted[np.arange(6), way] += weight / weights.sum()
    chances = voice_chances(midi, odds)
    assert chances == pytest.approx(counted, abs=1e-9)
    told = course_chances(midi, odds, path)
    assert told[:, 0] == pytest.approx(counted[np.arange(6), path], abs=1e-9)
    assert told[:, 1] == pytest.approx(counted[:, 2], abs=1e-9)


def test_the_context_of_a_candidate_is_that_of_its_contour():
    frames, count = 40, 8
    midi = np.tile(np.arange(50.0, 50.0 + 5 * count, 5), (frames, 1))
    midi[20:, 1] += 2.0  # here one contour ends and another begins
    strength = np.full((frames, count), 0.5, dtype=np.float32)
    rest = {each.name: np.zeros((frames, count), dtype=np.float32) for each in fields(LeadCandidates)}
    found = LeadCandidates(**(rest | {"midi": midi, "strength": strength}))
    clues = np.zeros((frames, count, len(CLUE_NAMES)), dtype=np.float32)
    clues[:20, 1, CLUE_NAMES.index("level")], clues[20:, 1, CLUE_NAMES.index("level")] = -1.0, -3.0
    told = context_clues(found, clues, np.zeros((frames, count)))
    assert told.shape == (frames, count, len(CONTEXT_NAMES))

    def clue(name, frame, candidate):
        return told[frame, candidate, CONTEXT_NAMES.index(name)]

    assert clue("age", 30, 0) == pytest.approx(np.log1p(30))
    assert clue("age", 30, 1) == pytest.approx(np.log1p(10))
    assert clue("left", 10, 1) == pytest.approx(np.log1p(9))
    assert clue("left", 10, 0) == pytest.approx(np.log1p(29))
    assert clue("mean_level_0.96", 5, 1) == pytest.approx(-1.0)
    assert clue("mean_level_0.96", 25, 1) == pytest.approx(-3.0)
    assert clue("before_level_0.85", 21, 1) == pytest.approx(0.0)


def test_the_odds_of_a_long_record_do_not_depend_on_where_it_is_parted(monkeypatch):
    sound = tones(OVER_IT * 2)
    found = candidates_of(pieces_of(sound), Whereabouts())
    clues = clue_table(found, Whereabouts(), bass_line(sound))
    odds = 10.0 * found.strength - 3.0
    whole = contexts.odds_in_context(found, clues, odds)
    monkeypatch.setattr(contexts, "PIECE", 250)
    assert contexts.odds_in_context(found, clues, odds) == pytest.approx(whole, abs=1e-3)


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
    found = candidates_of(pieces_of(sound), Whereabouts())
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

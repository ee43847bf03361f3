"""Performances, play-alongs, the band and the sampler number by number.

Each is compared whole with a file of `kept`; see `support.kept_texts`. Numbers are told to four digits, sounds by the
mean size of eight stretches of them.
"""

from __future__ import annotations

import io
from fractions import Fraction
from pathlib import Path

import mido
import numpy as np
import pytest

from reedpath.arrange import Route
from reedpath.errors import ReedpathError
from reedpath.harmony import load_form
from reedpath.lesson import Lesson, make_lesson
from reedpath.phrase import timing_of
from reedpath.pitch import Key
from reedpath.signal import Samples
from reedpath.sound import (
    Backing,
    Loop,
    PlayAlong,
    Turns,
    encode_midi,
    groove_names,
    ladder_name,
    lay_out,
    lay_out_backing,
    lay_out_spot,
    load_groove,
    plan_route,
    play_along_name,
    play_along_seconds,
    render_tones,
    spot_name,
    with_band_name,
)
from reedpath.sound.band.feel import BandFeel, ride_swing, round_level
from reedpath.sound.band.playing import play_band
from reedpath.sound.band.sampler import sample_note
from reedpath.sound.band.soundfont import open_bank, zones_of
from reedpath.sound.choosing import choose_form, choose_form_at, choose_groove, fit_of, music_key
from reedpath.sound.levelling import levelled
from reedpath.sound.loudness import LoudnessMeter, filters
from reedpath.sound.mix import Track, faded, limited, mixed, placed_in_room
from support.built_routes import built_lesson, built_route
from support.drawn_routes import alphabet_route, dense_route, graces_route, metres_route, opening_route
from support.kept_texts import assert_kept
from support.tiny_bank import sine, tiny_bank, write_bank
from support.told_values import told_lines, told_value

KEPT = Path(__file__).parent / "kept"
LICK = "2d 3d' 4b 4d' 4d:1! r:1 5d 4d 4b 3d'~ 2d:1 r:1"
# generators (SoundFont 2.04, section 8.1.2)
MODULATION, FILTER, PAN, DELAY, ATTACK, HOLD, DECAY, SUSTAIN, RELEASE = 7, 8, 17, 33, 34, 35, 36, 37, 38
KEYS, ATTENUATION, COARSE, FINE, SAMPLE, MODES, SCALE, ROOT = 43, 48, 51, 52, 53, 54, 56, 58


def routes() -> dict[str, Route]:
    """Phrases in which every sign stands."""
    return {
        "opening": opening_route(), "alphabet": alphabet_route(), "dense": dense_route(), "graces": graces_route(),
        "metres": metres_route(),
    }  # fmt: skip


def lick(**more: object) -> Lesson:
    fields = {"key": "A", "bpm": 96.0, "swing": Fraction(2), "music_key": Key(4), **more}
    return built_lesson(built_route(LICK, **fields), factors=(0.5, 1.0))  # type: ignore[arg-type]


def test_performances() -> None:
    told = []
    for name, route in routes().items():
        plan = plan_route(route, timing_of(route.phrase), slap_accents=name == "alphabet")
        told += [f"# {name}", *told_lines(plan)]
    assert_kept(KEPT / "performances.txt", "\n".join(told) + "\n")


def test_play_alongs_and_loops() -> None:
    told = []
    lesson = lick()
    options = (
        PlayAlong(), PlayAlong(count_in_bars=0), PlayAlong(count_in_bars=2, click_through=True, slap_accents=True),
        PlayAlong(turns=Turns.YOURS),
    )  # fmt: skip
    for given in (lesson, make_lesson(metres_route(), title="metres")):
        for option in options:
            rung = given.ladder[0]
            told += [f"# {given.title} {told_value(option)} {play_along_seconds(given, rung, option):.4f}"]
            told += told_lines(lay_out(given, rung, option))
    for loop in (Loop(times=2), Loop(times=3, turns=Turns.CALL, click_through=False, slap_accents=True)):
        for first, last in ((0, 1), (3, 6), (9, 9)):
            told += [
                f"# loop {told_value(loop)} {first}-{last}",
                *told_lines(lay_out_spot(lesson, first, last, lesson.ladder[0], loop)),
            ]
    for turns in Turns:
        rung = lesson.ladder[0]
        told.append(f"{play_along_name(rung, turns=turns)} {with_band_name(rung, turns=turns, format='mp3')}")
        told.append(
            f"{ladder_name(turns=turns)} {ladder_name(is_with_band=True, turns=turns)} {spot_name(3, turns=turns)}"
        )
    for first, last in ((-1, 2), (3, 2), (0, 99)):
        with pytest.raises(ReedpathError) as error:
            lay_out_spot(lesson, first, last, lesson.ladder[0])
        told.append(str(error.value))
    assert_kept(KEPT / "play-alongs.txt", "\n".join(told) + "\n")


def test_midi_files() -> None:
    told = []
    for name, route in routes().items():
        file = mido.MidiFile(file=io.BytesIO(encode_midi(make_lesson(route, title=name))), charset="utf8")
        told += [f"# {name} {file.ticks_per_beat}", *(str(message) for track in file.tracks for message in track)]
    assert_kept(KEPT / "midi.txt", "\n".join(told) + "\n")


def test_what_the_band_plays_under_a_lesson() -> None:
    told = []
    lesson = lick()
    wishes = (
        Backing(rounds=1),
        Backing(form="twelve-bar", rounds=1, chords="both", seed=7),
        Backing(
            form="eight-bar", groove="shuffle", turns=Turns.CALL, looseness=0.0, without=frozenset({"drums"})
        ),
        Backing(form="twelve-bar", at_bars=(1, 5, 9), as_turnaround=True, rounds=1, intro=2, turns=Turns.CALL),
        Backing(
            form="quick-change", key=Key(9), turns=Turns.YOURS, rounds=1, intro=1, count_in_bars=2,
            click_through=True, chords="piano",
        ),
    )  # fmt: skip
    for wish in wishes:
        layout = lay_out_backing(lesson, lesson.ladder[1], wish)
        told += [f"# {told_value(wish)}", f"{layout.form.name} {layout.groove.name} {layout.key}"]
        told += [f"round {told_value(one)}" for one in layout.rounds]
        told += [f"click {told_value(one)}" for one in (*layout.clicks[:9], *layout.cues)]
        told += [
            f"seconds {layout.seconds:.4f} {layout.round_beats} {layout.beats} {layout.is_placed} {len(layout.tones)}"
        ]
        for part in layout.parts:
            told.append(f"part {part.name} {part.program} {part.loudness:g} {part.drums} {len(part.notes)}")
            told += [f"  {told_value(note)}" for note in part.notes[:: max(1, len(part.notes) // 24)]]
    refused = (
        {"seed": -1}, {"seed": 10**6}, {"looseness": 2.1}, {"looseness": -0.1}, {"intro": 13}, {"intro": -1},
        {"rounds": 0}, {"rounds": 25}, {"chords": "banjo"}, {"without": frozenset({"kazoo"})},
    )  # fmt: skip
    for fields in refused:
        with pytest.raises(ReedpathError) as error:
            Backing(**fields)  # type: ignore[arg-type]
        told.append(f"{fields} {error.value}")
    for at_bars in ((0,), (13,), (1, 2), (12,)):
        with pytest.raises(ReedpathError) as error:
            lay_out_backing(lesson, lesson.ladder[1], Backing(form="twelve-bar", at_bars=at_bars))
        told.append(f"{at_bars} {error.value}")
    assert_kept(KEPT / "band.txt", "\n".join(told) + "\n")


@pytest.mark.slow
def test_which_grooves_a_lesson_is_played_to_and_whose_turn_it_is() -> None:
    told = []
    for swing in (Fraction(2), Fraction(1)):
        lesson = lick(swing=swing)
        for name in groove_names():
            try:
                layout = lay_out_backing(lesson, lesson.ladder[1], Backing(form="twelve-bar", groove=name, rounds=1))
                told.append(f"{name} swing {swing}: {layout.route.phrase.swing} {layout.seconds:.3f}")
            except ReedpathError as error:
                told.append(f"{name} swing {swing}: {error}")
        for at_bars in ((1,), (1, 5), (1, 7), (1, 5, 9), (3, 9)):
            for turns in Turns:
                wish = Backing(
                    form="twelve-bar", at_bars=at_bars, turns=turns, rounds=2, without=frozenset({"drums"})
                )
                found = lay_out_backing(lesson, lesson.ladder[1], wish).rounds
                told.append(
                    f"{at_bars} {turns.value} {[(str(one.onset), str(one.beats), one.played) for one in found]}"
                )
    assert_kept(KEPT / "turns.txt", "\n".join(told) + "\n")


def test_grooves_and_what_suits() -> None:
    told = []
    form, key = load_form("twelve-bar"), Key(9)
    for name in groove_names():
        groove = load_groove(name)
        told.append(f"# {name}")
        feels = (None, BandFeel(seed=3, lead=((1.0, 3.0),))) if name == groove_names()[0] else (None,)
        for feel in feels:
            parts = play_band(
                form,
                groove,
                key,
                lambda bar, beat, steps: 2.0 * bar + 0.5 * beat,
                bars=4,
                round_bars=4,
                intro=1,
                feel=feel,
            )
            for part in parts:
                told.append(f"{part.name} {part.program} {part.loudness:g} {part.drums}")
                told += [f"  {told_value(note)}" for note in part.notes[:18]]
    for bpm in (40.0, 90.0, 120.0, 150.0, 200.0, 300.0):
        told.append(f"swing {bpm:g} {ride_swing(bpm):.4f} {[round_level(turn, 4) for turn in range(4)]}")
    for route in list(routes().values())[:-1]:
        found = music_key(route)
        chosen = choose_form(route.phrase, found)
        told.append(f"{route.phrase.title} {found} {chosen.name} {fit_of(form, route.phrase, found):.4f}")
        told.append(choose_form_at(route.phrase, found, (1, 5)).name)
        told += [
            choose_groove(chosen, bpm, is_swung=swung).name for bpm in (60.0, 110.0, 170.0) for swung in (False, True)
        ]
    assert_kept(KEPT / "grooves.txt", "\n".join(told) + "\n")


def test_the_voice_and_the_mix_in_numbers() -> None:
    rate, told = 8000, []
    for name in ("opening", "alphabet"):
        plan = plan_route(routes()[name], timing_of(routes()[name].phrase), slap_accents=True)
        for first in (0, 4, 9):
            tones = plan.tones[first : first + 3]
            begin = min(tone.start_seconds for tone in tones)
            sound = render_tones(tones, seconds=2.5, start_seconds=begin - 0.1, rate=rate)
            told.append(f"# {name} {first} {told_value(sound)}")
    rng = np.random.default_rng(3)
    noise = (0.5 * rng.standard_normal(4000)).astype(np.float32)
    tracks = [Track(noise, -3.0, 0.5), Track(np.stack([noise, -noise], axis=1), 2.0), Track(noise[:1000], 0.0, -1.0)]
    told.append(told_value(mixed(tracks, seconds=0.6, rate=rate)))
    sides = np.stack([noise, 2 * noise], axis=0)
    for tell in (limited, faded):
        told.append(f"{tell.__name__} {told_value(tell(sides.copy(), rate))}")
    told.append(told_value(placed_in_room(noise, rate=rate)))
    told.append(told_value(filters(48_000)))
    meter = LoudnessMeter(rate=rate, channels=1)
    for block in np.array_split(np.tile(noise, 6)[:, None], 5):
        meter.add(block)
    told.append(f"{meter.lufs:.4f}")
    sound = levelled(Samples(np.tile(noise, 6)[:, None] * 0.05, rate))
    told.append(told_value(sound.array))
    assert_kept(KEPT / "voice.txt", "\n".join(told) + "\n")


def test_sampled_notes_in_numbers(tmp_path: Path) -> None:
    zones = (
        {ROOT: 69, MODES: 1, SAMPLE: 0},
        {ROOT: 69, MODES: 1, ATTACK: -2000, HOLD: -3000, DECAY: -1000, SUSTAIN: 200, RELEASE: -1200, SAMPLE: 0},
        {ROOT: 69, MODES: 3, FILTER: 7000, MODULATION: 0, PAN: 300, ATTENUATION: 60, SAMPLE: 0},
        {ROOT: 57, COARSE: 1, FINE: -20, SCALE: 50, DELAY: -3000, SAMPLE: 0},
        {KEYS: 60 | 72 << 8, ROOT: 69, SAMPLE: 0},
    )
    told = []
    for at, zone in enumerate(zones):
        bank = open_bank(write_bank(tmp_path, tiny_bank([zone], [sine(440.0, periods=120)])))
        for key, velocity, held in ((69, 127, 200), (60, 40, 50), (81, 90, 400)):
            told.append(f"# {at} {key} {velocity} {told_value(zones_of(bank, 0, key, velocity))}")
            note = sample_note(bank, 0, key, velocity, held, rate=16_000)
            told.append(f"{told_value(note.sound)} {note.delay_seconds:.4f}")
        told.append(told_value(sample_note(bank, 0, 60, 100, 50, drums=True, rate=16_000).sound))
    assert_kept(KEPT / "sampled.txt", "\n".join(told) + "\n")

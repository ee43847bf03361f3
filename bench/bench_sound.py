"""Speed of the reed voice and of a ladder of play-alongs.

pytest bench/bench_sound.py --benchmark-only
"""

from __future__ import annotations

from reedpath.sound import play_along
from support.built_routes import built_lesson, built_route

# nine and a half seconds at 96, with bends, an overblow, chords and a vibrato
LICK = "2d'':1/2! 2d 3d' 4b:1 4d:1 r:1/2 4d:1/2^1 4d 4b 3d' 2d 2d:2~ 5d 6b 6bo 6b 5d (4 5)d:1 [1 4]b:1"


def test_a_ladder_of_five_tempos_of_half_a_minute(benchmark):
    lesson = built_lesson(built_route(" ".join([LICK] * 3), bpm=96.0), factors=(0.5, 0.6, 0.75, 0.9, 1.0))
    whole = lambda: [play_along(lesson, rung) for rung in lesson.ladder]  # noqa: E731 - what is measured
    sounds = benchmark.pedantic(whole, rounds=5, warmup_rounds=1)
    benchmark.extra_info["sounding_seconds"] = round(sum(sound.duration_seconds for sound in sounds))

"""Speed of the reed voice and of a ladder of play-alongs.

pytest bench/bench_sound.py --benchmark-only
"""

from __future__ import annotations

from reedpath.sound import play_along
from support.built_routes import LICK, built_lesson, built_route


def test_a_ladder_of_five_tempos_of_half_a_minute(benchmark):
    lesson = built_lesson(built_route(" ".join([LICK] * 4), bpm=96.0), factors=(0.5, 0.6, 0.75, 0.9, 1.0))
    whole = lambda: [play_along(lesson, rung) for rung in lesson.ladder]  # noqa: E731 - what is measured
    sounds = benchmark.pedantic(whole, rounds=5, warmup_rounds=1)
    benchmark.extra_info["sounding_seconds"] = round(sum(sound.duration_seconds for sound in sounds))

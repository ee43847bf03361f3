"""The numbers of a performance, from `performance.toml`, where each one's unit stands."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from reedpath.sound._data import data_text, numbers_of, parse_toml, table_of

__all__ = ["ForceNumbers", "PerformanceData", "TimeNumbers", "load_performance", "parse_performance"]


@dataclass(frozen=True, slots=True)
class TimeNumbers:
    """Gaps, glides and leads."""

    tongued_gap: float
    turned_gap: float
    most_gap_share: float
    slurred_overlap: float
    bound_within: float
    hole_glide: float
    most_glide_share: float
    attack_hold: float
    attack_glide: float
    fall_glide: float
    fall_hold: float
    most_bend_share: float
    lead_each: float
    most_lead_share: float
    slap: float


@dataclass(frozen=True, slots=True)
class ForceNumbers:
    """How hard things are played."""

    plain: float
    first_beat: float
    accent: float
    grace: float
    lead: float
    slap: float
    swell: float
    chord_db: float


@dataclass(frozen=True, slots=True)
class PerformanceData:
    """All numbers of a performance."""

    time: TimeNumbers
    force: ForceNumbers


def parse_performance(text: str, *, file: str = "performance.toml") -> PerformanceData:
    """Read the numbers of a performance; errors name file, key and value."""
    data = parse_toml(text, file=file)
    return PerformanceData(
        numbers_of(TimeNumbers, table_of(data, "time", file=file), file=file, key="time"),
        numbers_of(ForceNumbers, table_of(data, "force", file=file), file=file, key="force"),
    )


@cache
def load_performance() -> PerformanceData:
    """The performance that ships with the program."""
    return parse_performance(data_text("performance.toml"))

"""Reading: what the words after options mean, before any job is asked."""

from __future__ import annotations

import re
from pathlib import Path

from reedpath.errors import SettingsError
from reedpath.jobs import ReadPhrase, SourceChoice, read_bytes, read_source, shipped_tunings
from reedpath.pitch import parse_key
from reedpath.readers import DEFAULT_LIMITS

__all__ = ["bars_of", "choices_of", "keys_of", "seconds_of", "share_of", "source_of", "span_of", "tunings_of"]

_SECONDS = re.compile(r"\s*(?:(?:(\d{1,3}):)?(\d{1,4}):)?(\d{1,7}(?:[.,]\d{1,9})?)\s*")
_SHARE = re.compile(r"\s*(\d{1,4}(?:[.,]\d{1,9})?)\s*(?:(%)|/\s*(\d{1,4}))?\s*")
_BARS = re.compile(r"\s*(\d{1,5})\s*(?:[-–]\s*(\d{1,5}))?\s*")


def bars_of(text: str | None) -> tuple[int, int] | None:
    """First and last bar of "5-8" or "5"."""
    if text is None:
        return None
    match = _BARS.fullmatch(text)
    if match is None:
        raise SettingsError(f"--bars {text!r} are no bars", hint="write a first and a last bar: 5-8")
    first, last = int(match[1]), int(match[2] or match[1])
    return first, last


def seconds_of(text: str) -> float:
    """Seconds of "12.5", "1:02.5" or "1:10:00"."""
    match = _SECONDS.fullmatch(text)
    if match is None:
        raise SettingsError(f"{text!r} is no time", hint="write seconds, or minutes and seconds: 12.5 or 1:02.5")
    hours, minutes, seconds = match.groups(default="0")
    return 3600.0 * int(hours) + 60.0 * int(minutes) + float(seconds.replace(",", "."))


def span_of(start: str, until: str | None) -> tuple[float, float | None]:
    """Where a part begins and ends, in seconds; None for the end of the recording."""
    return seconds_of(start), None if until is None else seconds_of(until)


def share_of(text: str) -> float:
    """A share of "0.5", "50%" or "1/2"."""
    match = _SHARE.fullmatch(text)
    if match is None or (match[3] is not None and int(match[3]) == 0):
        raise SettingsError(f"{text!r} is no share of the speed", hint="write it as 0.5, 50% or 1/2")
    return float(match[1].replace(",", ".")) / (100.0 if match[2] else int(match[3] or 1))


def choices_of(texts: list[str] | None) -> dict[str, str | int | bool]:
    """Choices within a source from words like "part=2"; whole numbers are read as numbers."""
    choices: dict[str, str | int | bool] = {}
    for text in texts or []:
        name, equals, value = text.partition("=")
        if not equals or not name.strip():
            raise SettingsError(f"--choose {text!r} chooses nothing", hint="write a name and a value: part=2")
        choices[name.strip()] = int(value) if value.strip().isdecimal() else value.strip()
    return choices


def keys_of(text: str | None) -> tuple[str, ...]:
    """Keys of harps from "A, C, Low F"."""
    return tuple(key.strip() for key in (text or "").split(",") if key.strip())


def tunings_of(names: list[str] | None) -> tuple[str, ...]:
    """Names of tunings; the standard one for none, all that ship for "all"."""
    if not names:
        return ("standard",)
    return shipped_tunings() if "all" in names else tuple(dict.fromkeys(names))


def source_of(
    path: Path, *, format: str | None, choose: list[str] | None, bars: str | None, lead: bool, key: str | None,
    tempo: float | None,
) -> ReadPhrase:  # fmt: skip
    """Read the phrase of a file."""
    choice = SourceChoice(
        format=format,
        options=choices_of(choose),
        bars=bars_of(bars),
        lead=lead,
        key=parse_key(key) if key else None,
        bpm=tempo,
    )
    return read_source(read_bytes(path, most_bytes=DEFAULT_LIMITS.source_bytes), name=str(path), choice=choice)

"""Reading: what the words after options mean, before any job is asked."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from reedpath.errors import SettingsError

if TYPE_CHECKING:
    from reedpath.jobs import PractiseWishes, ReadPhrase, SourceChoice

_SECONDS = re.compile(r"\s*(?:(?:(\d{1,3}):)?(\d{1,4}):)?(\d{1,7}(?:[.,]\d{1,9})?)\s*")
_SHARE = re.compile(r"\s*(\d{1,4}(?:[.,]\d{1,9})?)\s*(?:(%)|/\s*(\d{1,4}))?\s*")
_BAR = re.compile(r"[0-9]{1,3}")
_BARS = re.compile(r"\s*(\d{1,5})\s*(?:[-–]\s*(\d{1,5}))?\s*")


def bars_of(text: str | None) -> tuple[int, int] | None:
    """First and last bar of "5-8" or "5"."""
    if text is None:
        return None
    match = _BARS.fullmatch(text)
    if match is None:
        raise SettingsError("cli.no_bars", text=text)
    first, last = int(match[1]), int(match[2] or match[1])
    if last < first:
        raise SettingsError("cli.bars_backwards", first=first, last=last)
    return first, last


def seconds_of(text: str) -> float:
    """Seconds of "12.5", "1:02.5" or "1:10:00"."""
    match = _SECONDS.fullmatch(text)
    if match is None:
        raise SettingsError("cli.no_time", text=text)
    hours, minutes, seconds = match.groups(default="0")
    return 3600.0 * int(hours) + 60.0 * int(minutes) + float(seconds.replace(",", "."))


def span_of(start: str, until: str | None) -> tuple[float, float | None]:
    """Where a part begins and ends, in seconds; None for the end of the recording."""
    return seconds_of(start), None if until is None else seconds_of(until)


def share_of(text: str) -> float:
    """A share of "0.5", "50%" or "1/2"."""
    match = _SHARE.fullmatch(text)
    if match is None or (match[3] is not None and int(match[3]) == 0):
        raise SettingsError("cli.no_share", text=text)
    return float(match[1].replace(",", ".")) / (100.0 if match[2] else int(match[3] or 1))


def choices_of(texts: Sequence[str] | None) -> dict[str, str | int | bool]:
    """Choices within a source from words like "part=2"; whole numbers are read as numbers."""
    choices: dict[str, str | int | bool] = {}
    for text in texts or ():
        name, equals, value = text.partition("=")
        if not equals or not name.strip() or not value.strip():
            raise SettingsError("cli.no_choice", text=text)
        choices[name.strip()] = int(value) if value.strip().isdecimal() else value.strip()
    return choices


def owned_harps(text: str | None) -> tuple[str, ...]:
    """Names of harps from "A, C, Low F", with commas or blanks; none where nothing is said."""
    from reedpath.harp import harp_names

    names = harp_names(text or "")
    if text is not None and not names:
        raise SettingsError("cli.no_owned")
    return names


def keys_of(text: str | None, *, option: str) -> tuple[str, ...]:
    """Words of "slow, full"; none where nothing is said, a SettingsError that names the option for commas alone."""
    keys = tuple(key.strip() for key in (text or "").split(",") if key.strip())
    if text is not None and not keys:
        raise SettingsError("cli.no_names", option=option, text=text)
    return keys


def tunings_of(names: Sequence[str]) -> tuple[str, ...]:
    """Names of tunings; the standard one for none, all that there are for "all"."""
    from reedpath.jobs import known_tunings

    if not names:
        return ("standard",)
    return known_tunings() if "all" in names else tuple(dict.fromkeys(names))


def source_of(
    path: Path, *, format: str | None, choose: Sequence[str] | None, bars: str | None, lead: bool,
    music_key: str | None, tempo: float | None,
) -> ReadPhrase:  # fmt: skip
    """Read the phrase of a file."""
    from reedpath.jobs import read_source_file

    choice = source_choice(
        format=format, choose=choose, bars=bars, lead=lead, music_key=music_key, tempo=tempo
    )  # fmt: skip
    return read_source_file(path, choice)


def source_choice(
    *, format: str | None, choose: Sequence[str] | None, bars: str | None, lead: bool, music_key: str | None,
    tempo: float | None,
) -> SourceChoice:  # fmt: skip
    """What of a source is to be read."""
    from reedpath.jobs import SourceChoice
    from reedpath.pitch import parse_key

    return SourceChoice(
        format=format,
        options=choices_of(choose),
        bars=bars_of(bars),
        lead=lead,
        key=parse_key(music_key) if music_key is not None else None,
        bpm=tempo,
    )


# options that are the band's, and what they are when nothing is said
OF_THE_BAND = {
    "form": "auto", "groove": "auto", "rounds": 2, "chords": "guitar", "without": None, "bank": None,
    "at_bar": None, "intro": 0, "seed": 2, "loose": 1.0,
}  # fmt: skip
# what is said for the bars at the end of a form
_TURNAROUND = "turnaround"


def places_of(text: str | None) -> tuple[tuple[int, ...], bool]:
    """Bars of "1,5,9", and whether "turnaround" is among them; none where nothing is said."""
    words = keys_of(text, option="--at-bar")
    bars = [word for word in words if word.lower() != _TURNAROUND]
    wrong = [word for word in bars if not _BAR.fullmatch(word)]
    if wrong:
        raise SettingsError("cli.no_bar_of_form", text=wrong[0])
    return tuple(sorted({int(bar) for bar in bars})), len(bars) < len(words)


def practise_wishes(
    *, band: bool, form: str, groove: str, rounds: int, turns: str, chords: str, without: str | None,
    bank: Path | None, at_bar: str | None, intro: int, seed: int, loose: float, count_in: int, click: bool,
    muted: bool, slaps: bool, tempos: str | None,
) -> PractiseWishes:  # fmt: skip
    """What the options of what is heard mean; a SettingsError for a word that means nothing without the band."""
    from reedpath.data import extended
    from reedpath.jobs import PractiseWishes
    from reedpath.sound import Backing, PlayAlong, Turns

    if turns not in tuple(Turns):
        raise SettingsError("cli.unknown_turns", name=turns, names=tuple(Turns))
    said = {
        "form": form, "groove": groove, "rounds": rounds, "chords": chords, "without": without, "bank": bank,
        "at_bar": at_bar, "intro": intro, "seed": seed, "loose": loose,
    }  # fmt: skip
    idle = [name for name, value in said.items() if value != OF_THE_BAND[name]]
    if idle and not band:
        raise SettingsError("cli.for_the_band", option=f"--{idle[0].replace('_', '-')}")
    whose = Turns.YOURS if muted else Turns(turns)
    play = PlayAlong(count_in_bars=count_in, click_through=click, turns=whose, slap_accents=slaps)
    if band:
        silent = frozenset(keys_of(without, option="--without"))
        at_bars, as_turnaround = places_of(at_bar)
        play = extended(
            play, Backing, form=form, groove=groove, rounds=rounds, chords=chords, without=silent, bank=bank,
            intro=intro, seed=seed, looseness=loose,
            at_bars=at_bars, as_turnaround=as_turnaround,
        )  # fmt: skip
    return PractiseWishes(play, rungs=keys_of(tempos, option="--tempos"))

"""Sounds to practise with, from the terminal."""

from __future__ import annotations

from pathlib import Path

from reedpath.cli.lessons import progress_display
from reedpath.cli.printing import catalogue_for, print_data, print_line, print_written, written_as_data
from reedpath.cli.reading import keys_of, share_of, span_of
from reedpath.data import extended
from reedpath.errors import SettingsError
from reedpath.jobs import PractiseWishes, make_practice_sounds, slow_recording
from reedpath.sound import Backing, PlayAlong, Turns

__all__ = ["make_sounds", "practise_wishes", "slow_down"]


# options that are the band's, and what they are when nothing is said
_OF_THE_BAND = {"form": "auto", "groove": "auto", "rounds": 2, "chords": "guitar", "without": None}


def practise_wishes(
    *, band: bool, form: str, groove: str, rounds: int, turns: str, chords: str, without: str | None, count_in: int,
    click: bool, muted: bool, slaps: bool, tempos: str | None,
) -> PractiseWishes:  # fmt: skip
    """What the options mean; a SettingsError for a word that means nothing, or nothing without the band."""
    if turns not in tuple(Turns):
        raise SettingsError(f"no turns are named {turns!r}", hint=f"there are {', '.join(Turns)}")
    said = {"form": form, "groove": groove, "rounds": rounds, "chords": chords, "without": without}
    idle = [name for name, value in said.items() if value != _OF_THE_BAND[name]]
    if idle and not band:
        raise SettingsError(f"--{idle[0]} is for the band", hint="say --band too")
    whose = Turns.YOURS if muted else Turns(turns)
    play = PlayAlong(count_in_bars=count_in, click_through=click, turns=whose, slap_accents=slaps)
    if band:
        silent = frozenset(keys_of(without))
        play = extended(play, Backing, form=form, groove=groove, rounds=rounds, chords=chords, without=silent)
    return PractiseWishes(play, rungs=keys_of(tempos))


def slow_down(
    recording: Path, out: Path, *, to: str, start: str, until: str | None, broken_off: bool, replace: bool
) -> None:
    """Slow a recording, or a part of it."""
    begin, end = span_of(start, until)
    with progress_display(catalogue_for(None)) as progress:
        slow_recording(
            recording,
            share_of(to),
            out,
            start_seconds=begin,
            end_seconds=end,
            broken_off=broken_off,
            replace=replace,
            progress=progress,
        )
    print_line(str(out))


def make_sounds(folder: Path, wishes: PractiseWishes, out: Path, *, replace: bool, json: bool) -> None:
    """Make the sounds and say which."""
    if wishes.play.turns is Turns.CALL and not isinstance(wishes.play, Backing) and not wishes.spots:
        raise SettingsError("call and response needs the band's rounds, or spots", hint="say --band, or --spots")
    with progress_display(catalogue_for(None)) as progress:
        written = make_practice_sounds(folder, wishes, out, replace=replace, progress=progress)
    if json:
        print_data(written_as_data(out, written))
    else:
        print_written(out, written, catalogue_for(None))

"""Sounds to practise with, from the terminal."""

from __future__ import annotations

from pathlib import Path

from reedpath.cli.lessons import progress_display
from reedpath.cli.printing import catalogue_for, print_data, print_line
from reedpath.cli.reading import keys_of
from reedpath.errors import SettingsError
from reedpath.jobs import PractiseWishes, make_practice_sounds
from reedpath.sound import Backing, PlayAlong, Turns

__all__ = ["make_sounds", "practise_wishes"]


def practise_wishes(
    *, band: bool, form: str, groove: str, rounds: int, turns: str, chords: str, without: str | None, count_in: int,
    click: bool, muted: bool, tempos: str | None, as_one: bool, spots: bool, format: str,
) -> PractiseWishes:  # fmt: skip
    """What the options mean; a SettingsError for a word that means nothing."""
    if turns not in tuple(Turns):
        raise SettingsError(f"no turns are named {turns!r}", hint=f"there are {', '.join(Turns)}")
    backing = Backing(
        form=form, groove=groove, rounds=rounds, turns=Turns.YOURS if muted else Turns(turns), chords=chords,
        without=frozenset(keys_of(without)), count_in_bars=count_in, click_through=click,
    )  # fmt: skip
    along = PlayAlong(count_in_bars=count_in, click_through=click, mute_voice=muted)
    return PractiseWishes(backing if band else None, along, as_one, spots, keys_of(tempos), format)


def make_sounds(folder: Path, wishes: PractiseWishes, out: Path, *, json: bool) -> None:
    """Make the sounds and say which."""
    with progress_display(catalogue_for(None)) as progress:
        files = make_practice_sounds(folder, wishes, out, progress=progress)
    if json:
        print_data({"folder": str(out), "files": list(files)})
        return
    print_line(str(out))
    for name in files:
        print_line(f"  {name}")

"""Folders of small tunes of our own invention."""

from __future__ import annotations

from pathlib import Path

# the same steps in twelve keys, and one tune that needs bends
KEYS = ("C", "G", "D", "A", "E", "B", "F", "Bb", "Eb", "Ab", "Db", "Gb")
STEPS = "X:1\nT:Steps in {key}\nM:4/4\nL:1/4\nK:{key}\nCDEF|GFED|C4|]\n"
BENT = "X:1\nT:Bent question\nM:4/4\nL:1/4\nK:Am\nE^D=D2|^C=CB,2|]\n"


def step_tunes(folder: Path) -> Path:
    """A folder of thirteen tunes, made."""
    folder.mkdir()
    for key in KEYS:
        (folder / f"{key}.abc").write_text(STEPS.format(key=key))
    (folder / "bent.abc").write_text(BENT)
    return folder

"""The options that commands share, each said once."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

__all__ = [
    "A4",
    "AnyKey",
    "AsJson",
    "Band",
    "BandChords",
    "Bars",
    "BlowBends",
    "BrokenOff",
    "Choose",
    "Chords",
    "Click",
    "CountIn",
    "DrawBends",
    "Form",
    "Format",
    "FromTime",
    "Groove",
    "HarpKey",
    "Language",
    "Lead",
    "LessonFolder",
    "Level",
    "MusicKey",
    "Muted",
    "NotationName",
    "Overblows",
    "Overdraws",
    "Owned",
    "Position",
    "Recording",
    "Replace",
    "ReplaceFiles",
    "Rounds",
    "Shift",
    "Slaps",
    "Source",
    "Splits",
    "Stretch",
    "TemperamentName",
    "Tempo",
    "Tempos",
    "TuningName",
    "TuningNames",
    "Turns",
    "UntilTime",
    "Without",
]

SOURCE, HARP, PLAYER, OUT, SOUND = "The source", "The harp", "The player", "The result", "What is heard"

Source = Annotated[
    Path, typer.Argument(metavar="FILE", help="MusicXML, MIDI, ABC, guitar fret tab or harmonica tab.")
]
Format = Annotated[
    str | None,
    typer.Option("--format", help="The source's format, where it is not told right.", rich_help_panel=SOURCE),
]
Choose = Annotated[
    list[str] | None,
    typer.Option(
        "--choose", metavar="NAME=VALUE", rich_help_panel=SOURCE,
        help="What of the source to read: part=2, track=1, tune=3 ... May be said several times.",
    ),
]  # fmt: skip
Bars = Annotated[
    str | None, typer.Option("--bars", metavar="FIRST-LAST", help="Only these bars: 5-8.", rich_help_panel=SOURCE)
]
Lead = Annotated[bool, typer.Option("--lead", help="Reduce the source to its lead line.", rich_help_panel=SOURCE)]
MusicKey = Annotated[
    str | None, typer.Option("--key", help="The phrase's key: E, Am, 'F# minor'.", rich_help_panel=SOURCE)
]
Tempo = Annotated[float | None, typer.Option("--tempo", help="Quarter notes a minute.", rich_help_panel=SOURCE)]

HarpKey = Annotated[str | None, typer.Option("--harp", help="Key of the harp: A, Bb, 'Low F'.", rich_help_panel=HARP)]
Position = Annotated[
    int | None, typer.Option("--position", help="Choose the harp by position, 1 to 12.", rich_help_panel=HARP)
]
Owned = Annotated[
    str | None,
    typer.Option("--owned", metavar="KEYS", help="Choose among these harps: A,C,D,'Low F'.", rich_help_panel=HARP),
]
TuningName = Annotated[str, typer.Option("--tuning", help="Name of a tuning, or a TOML file.", rich_help_panel=HARP)]
TuningNames = Annotated[
    list[str] | None,
    typer.Option(
        "--tuning", rich_help_panel=HARP,
        help="Name of a tuning, or a TOML file; several times for several, 'all' for all that ship.",
    ),
]  # fmt: skip
TemperamentName = Annotated[
    str,
    typer.Option("--temperament", help="Name of a temperament, or a .scl or TOML file.", rich_help_panel=HARP),
]
A4 = Annotated[float, typer.Option("--a4", metavar="HZ", help="Reference pitch.", rich_help_panel=HARP)]
Stretch = Annotated[
    float, typer.Option("--stretch", metavar="CENTS", help="Widening of each octave.", rich_help_panel=HARP)
]
Shift = Annotated[
    int | None,
    typer.Option("--shift", metavar="SEMITONES", help="Move the phrase so far; else the best octave.",
                 rich_help_panel=HARP),
]  # fmt: skip
AnyKey = Annotated[bool, typer.Option("--any-key", help="The phrase may be moved to any key.", rich_help_panel=HARP)]

Band = Annotated[
    bool, typer.Option("--band", help="With a small band that follows form and key.", rich_help_panel=SOUND)
]
Form = Annotated[str, typer.Option("--form", help="Form of the music; 'auto' for what suits.", rich_help_panel=SOUND)]
Groove = Annotated[
    str, typer.Option("--groove", help="Groove of the band; 'auto' for what suits.", rich_help_panel=SOUND)
]
Rounds = Annotated[int, typer.Option("--rounds", help="How many times the form goes round.", rich_help_panel=SOUND)]
Turns = Annotated[
    str,
    typer.Option("--turns", help="together, call (your turn every second round) or yours.", rich_help_panel=SOUND),
]
BandChords = Annotated[str, typer.Option("--chords", help="guitar, piano or both.", rich_help_panel=SOUND)]
Without = Annotated[
    str | None,
    typer.Option("--without", metavar="PLAYERS", help="Leave out: drums,bass.", rich_help_panel=SOUND),
]
CountIn = Annotated[
    int, typer.Option("--count-in", metavar="BARS", help="Bars counted in, 0 to 4.", rich_help_panel=SOUND)
]
Click = Annotated[bool, typer.Option("--click", help="The click goes on under the phrase.", rich_help_panel=SOUND)]
Muted = Annotated[bool, typer.Option("--muted", help="Without the harmonica: your turn.", rich_help_panel=SOUND)]
Slaps = Annotated[
    bool, typer.Option("--slaps", help="Accented notes are slapped with the tongue.", rich_help_panel=SOUND)
]
Tempos = Annotated[str | None, typer.Option("--tempos", help="Only these of the ladder: slow,full.")]

Recording = Annotated[Path, typer.Argument(metavar="RECORDING", help="A sound file, or the sound of a video.")]
LessonFolder = Annotated[Path, typer.Argument(metavar="FOLDER", help="A lesson folder.")]
Level = Annotated[
    str | None,
    typer.Option("--level", help="first-months, easy, steady, strong or advanced.", rich_help_panel=PLAYER),
]
DrawBends = Annotated[
    int | None,
    typer.Option("--draw-bends", metavar="SEMITONES", help="Deepest draw bend, 0 for none.", rich_help_panel=PLAYER),
]
BlowBends = Annotated[
    int | None,
    typer.Option("--blow-bends", metavar="SEMITONES", help="Deepest blow bend, 0 for none.", rich_help_panel=PLAYER),
]
Overblows = Annotated[bool | None, typer.Option("--overblows/--no-overblows", rich_help_panel=PLAYER)]
Overdraws = Annotated[bool | None, typer.Option("--overdraws/--no-overdraws", rich_help_panel=PLAYER)]
Splits = Annotated[bool | None, typer.Option("--splits/--no-splits", rich_help_panel=PLAYER)]
Chords = Annotated[bool | None, typer.Option("--chords/--no-chords", rich_help_panel=PLAYER)]

NotationName = Annotated[
    str,
    typer.Option("--notation", help="sign, arrow, letters-en, letters-fr, letters-de or bracket.",
                 rich_help_panel=OUT),
]  # fmt: skip
Language = Annotated[str | None, typer.Option("--language", help="en or fr; else the system's.", rich_help_panel=OUT)]
AsJson = Annotated[bool, typer.Option("--json", help="Answer with data.", rich_help_panel=OUT)]
Replace = Annotated[
    bool,
    typer.Option("--replace", rich_help_panel=OUT,
                 help="Make the lesson anew in a folder that holds one; what was edited by hand is kept."),
]  # fmt: skip
ReplaceFiles = Annotated[bool, typer.Option("--replace", help="Write over what is there.", rich_help_panel=OUT)]
BrokenOff = Annotated[bool, typer.Option("--broken-off", help="Hear a file that breaks off as far as it goes.")]
FromTime = Annotated[str, typer.Option("--from", metavar="TIME", help="Where it begins: 12.5 or 1:02.5.")]
UntilTime = Annotated[str | None, typer.Option("--until", metavar="TIME", help="Where it ends.")]

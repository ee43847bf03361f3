"""The commands: their arguments, their help, and where each is carried out.

Everything heavy is imported when a command runs, so that ``--help`` answers at once.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from reedpath import __version__
from reedpath.cli import options as o

__all__ = ["app"]

app = typer.Typer(
    name="reedpath",
    help="From a phrase born on another instrument to a playable, teachable harmonica lesson.",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
    rich_markup_mode=None,  # plain help answers in a fifth of the time that a framed one takes
)


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"reedpath {__version__}")
        raise typer.Exit


@app.callback()
def _top(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Say the version.")
    ] = False,
) -> None:
    pass


@app.command("demo")
def demo(
    out: Annotated[Path, typer.Option("--out", metavar="DIR", help="Where the lesson goes.")] = Path("reedpath-demo"),
    replace: o.Replace = False,
) -> None:
    """Make a whole lesson from a phrase of our own invention.

    \b
    reedpath demo
    reedpath demo --out first-lesson
    """
    from reedpath.cli.lessons import make_demo

    make_demo(out, replace=replace)


@app.command("harp")
def harp(
    key: Annotated[str, typer.Argument(metavar="KEY", help="A, Bb, F#, 'Low F', 'High G'.")],
    tuning: o.TuningName = "standard",
    temperament: o.TemperamentName = "equal",
    a4: o.A4 = 440.0,
    stretch: o.Stretch = 0.0,
    positions: Annotated[bool, typer.Option("--positions", help="The twelve positions too.")] = False,
    notation: o.NotationName = "sign",
    language: o.Language = None,
    json: o.AsJson = False,
) -> None:
    """Show a harp: every note of every hole, bends and overbends included.

    \b
    reedpath harp A
    reedpath harp "Low F" --tuning natural-minor-2 --positions
    reedpath harp C --temperament just-7 --a4 442 --json
    """
    from reedpath.cli.harps import show_harp
    from reedpath.jobs import HarpChoice

    choice = HarpChoice(key, (tuning,), temperament, a4, stretch)
    show_harp(choice, positions=positions, notation=notation, language=language, json=json)


@app.command("survey")
def survey(
    file: o.Source,
    owned: o.Owned = None,
    tuning: o.TuningNames = None,
    position: o.Position = None,
    shift: o.Shift = None,
    any_key: o.AnyKey = False,
    top: Annotated[int, typer.Option("--top", help="How many lines.", rich_help_panel=o.OUT)] = 12,
    level: o.Level = None,
    draw_bends: o.DrawBends = None,
    blow_bends: o.BlowBends = None,
    overblows: o.Overblows = None,
    overdraws: o.Overdraws = None,
    splits: o.Splits = None,
    chords: o.Chords = None,
    format: o.Format = None,
    choose: o.Choose = None,
    bars: o.Bars = None,
    lead: o.Lead = False,
    key: o.MusicKey = None,
    tempo: o.Tempo = None,
    language: o.Language = None,
    json: o.AsJson = False,
) -> None:
    """Rank the harps, positions and octaves that play a phrase best.

    \b
    reedpath survey phrase.musicxml
    reedpath survey solo.txt --owned "A, C, D, Low F" --level strong
    reedpath survey tune.abc --tuning all --any-key --top 5 --json
    """
    from reedpath.cli.reading import keys_of, source_of, tunings_of
    from reedpath.cli.routes import show_survey
    from reedpath.jobs import HarpChoice, PlayerChoice, RouteRequest

    read = source_of(file, format=format, choose=choose, bars=bars, lead=lead, key=key, tempo=tempo)
    player = PlayerChoice(level, draw_bends, blow_bends, overblows, overdraws, splits, chords)
    harp = HarpChoice(None, tunings_of(tuning))
    request = RouteRequest(harp, keys_of(owned), position, shift, any_key, player)
    show_survey(read, request, top=top, language=language, json=json)


@app.command("arrange")
def arrange(
    file: o.Source,
    harp: o.HarpKey = None,
    position: o.Position = None,
    owned: o.Owned = None,
    tuning: o.TuningName = "standard",
    shift: o.Shift = None,
    any_key: o.AnyKey = False,
    trade_off: Annotated[
        bool, typer.Option("--trade-off", help="Easier and truer routes beside the best.", rich_help_panel=o.OUT)
    ] = False,
    why: Annotated[
        bool, typer.Option("--why", help="Where the effort comes from, move by move.", rich_help_panel=o.OUT)
    ] = False,
    level: o.Level = None,
    draw_bends: o.DrawBends = None,
    blow_bends: o.BlowBends = None,
    overblows: o.Overblows = None,
    overdraws: o.Overdraws = None,
    splits: o.Splits = None,
    chords: o.Chords = None,
    format: o.Format = None,
    choose: o.Choose = None,
    bars: o.Bars = None,
    lead: o.Lead = False,
    key: o.MusicKey = None,
    tempo: o.Tempo = None,
    notation: o.NotationName = "sign",
    language: o.Language = None,
    json: o.AsJson = False,
) -> None:
    """Find the best way to play a phrase, on a harp given or the best one.

    \b
    reedpath arrange solo.txt --harp A
    reedpath arrange solo.txt --position 2 --level strong --why
    reedpath arrange phrase.mid --choose track=1 --trade-off
    """
    from reedpath.cli.reading import keys_of, source_of
    from reedpath.cli.routes import show_route
    from reedpath.jobs import HarpChoice, PlayerChoice, RouteRequest

    read = source_of(file, format=format, choose=choose, bars=bars, lead=lead, key=key, tempo=tempo)
    player = PlayerChoice(level, draw_bends, blow_bends, overblows, overdraws, splits, chords)
    request = RouteRequest(HarpChoice(harp, (tuning,)), keys_of(owned), position, shift, any_key, player)
    show_route(read, request, notation=notation, trade_off=trade_off, why=why, language=language, json=json)


@app.command("lesson")
def lesson(
    file: o.Source,
    out: Annotated[Path, typer.Option("--out", metavar="DIR", help="Where the lesson goes.", rich_help_panel=o.OUT)],
    harp: o.HarpKey = None,
    position: o.Position = None,
    owned: o.Owned = None,
    tuning: o.TuningName = "standard",
    temperament: o.TemperamentName = "equal",
    a4: o.A4 = 440.0,
    stretch: o.Stretch = 0.0,
    shift: o.Shift = None,
    any_key: o.AnyKey = False,
    level: o.Level = None,
    draw_bends: o.DrawBends = None,
    blow_bends: o.BlowBends = None,
    overblows: o.Overblows = None,
    overdraws: o.Overdraws = None,
    splits: o.Splits = None,
    chords: o.Chords = None,
    format: o.Format = None,
    choose: o.Choose = None,
    bars: o.Bars = None,
    lead: o.Lead = False,
    key: o.MusicKey = None,
    tempo: o.Tempo = None,
    title: Annotated[str, typer.Option("--title", help="The lesson's title.", rich_help_panel=o.OUT)] = "",
    notation: o.NotationName = "sign",
    languages: Annotated[
        str,
        typer.Option("--languages", help="Languages of the steps; the first is the sheet's.", rich_help_panel=o.OUT),
    ] = "en,fr",
    paper: Annotated[str, typer.Option("--paper", help="a4 or letter.", rich_help_panel=o.OUT)] = "a4",
    replace: o.Replace = False,
    json: o.AsJson = False,
) -> None:
    """Make a lesson folder from a phrase: tab, score, steps, hand-out, play-alongs.

    \b
    reedpath lesson solo.txt --out lessons/solo
    reedpath lesson solo.txt --out solo --harp A --level easy --languages fr,en
    reedpath lesson tune.abc --choose tune=3 --bars 1-8 --out tune --notation arrow
    """
    from reedpath.cli.lessons import make_from
    from reedpath.cli.reading import keys_of, source_of
    from reedpath.jobs import HarpChoice, LessonWishes, PlayerChoice, RouteRequest

    read = source_of(file, format=format, choose=choose, bars=bars, lead=lead, key=key, tempo=tempo)
    player = PlayerChoice(level, draw_bends, blow_bends, overblows, overdraws, splits, chords)
    choice = HarpChoice(harp, (tuning,), temperament, a4, stretch)
    request = RouteRequest(choice, keys_of(owned), position, shift, any_key, player)
    wishes = LessonWishes(title=title, notation=notation, languages=keys_of(languages), paper=paper)
    make_from(read, request, wishes, out, replace=replace, json=json)

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
        str | None,
        typer.Option(
            "--languages", help="Languages of the steps, else en,fr; the first is the sheet's.", rich_help_panel=o.OUT
        ),
    ] = None,
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
    asked = keys_of("en,fr" if languages is None else languages)
    wishes = LessonWishes(title=title, notation=notation, languages=asked, paper=paper)
    told_in = asked[0] if languages and asked else None
    make_from(read, request, wishes, out, replace=replace, json=json, language=told_in)


@app.command("play-along")
def play_along(
    folder: o.LessonFolder,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="DIR", help="Where the sounds go; else the folder.")
    ] = None,
    band: o.Band = False,
    form: o.Form = "auto",
    groove: o.Groove = "auto",
    rounds: o.Rounds = 2,
    turns: o.Turns = "together",
    chords: o.BandChords = "guitar",
    without: o.Without = None,
    count_in: o.CountIn = 1,
    click: o.Click = False,
    muted: o.Muted = False,
    slaps: o.Slaps = False,
    tempos: o.Tempos = None,
    as_one: Annotated[bool, typer.Option("--as-one", help="The whole ladder in one file with chapters.")] = False,
    spots: Annotated[bool, typer.Option("--spots", help="The spots to practise apart too, looped.")] = False,
    format: Annotated[str, typer.Option("--format", help="wav, flac, mp3 or opus.")] = "wav",
    replace: o.ReplaceFiles = False,
    json: o.AsJson = False,
) -> None:
    """Make sounds to practise with from a lesson folder.

    \b
    reedpath play-along lessons/solo --band --form twelve-bar --turns call
    reedpath play-along lessons/solo --spots --tempos slow --format mp3
    reedpath play-along lessons/solo --muted --click --as-one --format opus --out phone
    """
    from dataclasses import replace as with_fields

    from reedpath.cli.practising import make_sounds, practise_wishes

    heard = practise_wishes(
        band=band, form=form, groove=groove, rounds=rounds, turns=turns, chords=chords, without=without,
        count_in=count_in, click=click, muted=muted, slaps=slaps, tempos=tempos,
    )  # fmt: skip
    wishes = with_fields(heard, as_one=as_one, spots=spots, format=format)
    make_sounds(folder, wishes, out or folder, replace=replace, json=json)


@app.command("slow")
def slow(
    recording: o.Recording,
    out: Annotated[
        Path, typer.Option("--out", metavar="FILE", help="Where it goes: .wav, .flac, .mp3, .ogg or .opus.")
    ],
    to: Annotated[str, typer.Option("--to", metavar="SHARE", help="Share of its speed, 1/3 to 1.5.")] = "0.5",
    start: o.FromTime = "0",
    until: o.UntilTime = None,
    broken_off: o.BrokenOff = False,
    replace: o.ReplaceFiles = False,
) -> None:
    """Slow a recorded take or source down without a change of pitch.

    \b
    reedpath slow solo.mp3 --to 0.5 --out solo-half.wav
    reedpath slow evening.mp4 --from 1:02 --until 1:20 --to 1/3 --out lick.mp3
    """
    from reedpath.cli.practising import slow_down

    slow_down(recording, out, to=to, start=start, until=until, broken_off=broken_off, replace=replace)


@app.command("transcribe")
def transcribe(
    recording: o.Recording,
    start: o.FromTime = "0",
    until: o.UntilTime = None,
    tempo: o.Tempo = None,
    key: o.MusicKey = None,
    strings: Annotated[bool, typer.Option("--chords", help="Plucked strings that may sound together.")] = False,
    harp: Annotated[str | None, typer.Option("--harp", help="The recording is of a harp in this key.")] = None,
    broken_off: o.BrokenOff = False,
    tuning: o.TuningName = "standard",
    temperament: o.TemperamentName = "equal",
    a4: o.A4 = 440.0,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FILE", help="Keep the phrase in a .json file.")
    ] = None,
    replace: o.ReplaceFiles = False,
    notation: o.NotationName = "sign",
    language: o.Language = None,
    json: o.AsJson = False,
) -> None:
    """Write down the phrase that a recording plays.

    \b
    reedpath transcribe solo.mp3 --from 12.5 --until 20 --out solo.json
    reedpath lesson solo.json --out lessons/solo
    reedpath transcribe take.wav --harp A
    """
    from reedpath.cli.hearing import show_transcription
    from reedpath.cli.reading import span_of
    from reedpath.jobs import HarpChoice, HearingChoice
    from reedpath.pitch import parse_key

    harmonica = HarpChoice(harp, (tuning,), temperament, a4) if harp else None
    music_key = parse_key(key) if key else None
    choice = HearingChoice(*span_of(start, until), tempo, strings, music_key, harmonica, broken_off)
    show_transcription(recording, choice, out=out, replace=replace, notation=notation, language=language, json=json)


@app.command("align")
def align(
    take: o.Recording,
    lesson: Annotated[Path, typer.Option("--lesson", metavar="FOLDER", help="The lesson's folder.")],
    broken_off: o.BrokenOff = False,
    language: o.Language = None,
    json: o.AsJson = False,
) -> None:
    """Line a take up with its lesson: when each event sounds, in every play-through.

    \b
    reedpath align take.wav --lesson lessons/solo
    reedpath align film.mp4 --lesson lessons/solo --json
    """
    from reedpath.cli.hearing import show_lined_up

    show_lined_up(take, lesson, broken_off=broken_off, language=language, json=json)


@app.command("film")
def film(
    folder: o.LessonFolder,
    out: Annotated[Path, typer.Option("--out", metavar="FILE", help="The film: .mp4, or as the teacher's film is.")],
    over: Annotated[
        Path | None, typer.Option("--over", metavar="FILM", help="Lay the strip over the teacher's own film.")
    ] = None,
    beside: Annotated[
        Path | None, typer.Option("--beside", metavar="FILM", help="Put the strip beside the teacher's own film.")
    ] = None,
    strip: Annotated[
        str | None,
        typer.Option("--strip", metavar="KIND", help="Also the strip alone, transparent: runs, prores or vp9."),
    ] = None,
    screen: Annotated[str, typer.Option("--screen", help="landscape or upright.")] = "landscape",
    palette: Annotated[str, typer.Option("--palette", help="night, paper or ink.")] = "night",
    tempos: o.Tempos = None,
    steps: Annotated[bool, typer.Option("--steps/--no-steps", help="Go through the steps first.")] = True,
    band: o.Band = False,
    form: o.Form = "auto",
    groove: o.Groove = "auto",
    rounds: o.Rounds = 2,
    turns: o.Turns = "together",
    chords: o.BandChords = "guitar",
    without: o.Without = None,
    count_in: o.CountIn = 1,
    click: o.Click = False,
    muted: o.Muted = False,
    slaps: o.Slaps = False,
    language: o.Language = None,
    replace: o.ReplaceFiles = False,
    json: o.AsJson = False,
) -> None:
    """Make a film of a lesson, or lay its tab in time over a teacher's own.

    Captions (WebVTT, SRT) and chapters appear beside the film.

    \b
    reedpath film lessons/solo --out solo.mp4
    reedpath film lessons/solo --out phone.mp4 --screen upright --tempos slow,full --language fr
    reedpath film lessons/solo --out jam.mp4 --band --form twelve-bar --turns call --no-steps
    reedpath film lessons/solo --over me-playing.mp4 --strip vp9 --out taught.mp4
    """
    from reedpath.cli.films import film_of_lesson, film_of_takes, refuse_what_is_heard
    from reedpath.cli.practising import practise_wishes

    heard = practise_wishes(
        band=band, form=form, groove=groove, rounds=rounds, turns=turns, chords=chords, without=without,
        count_in=count_in, click=click, muted=muted, slaps=slaps, tempos=tempos,
    )  # fmt: skip
    if over is None and beside is None:
        film_of_lesson(
            folder, out, heard, screen=screen, palette=palette, steps=steps, language=language, replace=replace,
            json=json,
        )  # fmt: skip
    else:
        refuse_what_is_heard(heard)
        film_of_takes(
            folder, out, over=over, beside=beside, strip=strip, screen=screen, palette=palette, language=language,
            replace=replace, json=json,
        )  # fmt: skip


@app.command("listen")
def listen(
    take: o.Recording,
    lesson: Annotated[Path, typer.Option("--lesson", metavar="FOLDER", help="The lesson's folder.")],
    out: Annotated[
        Path | None, typer.Option("--out", metavar="DIR", help="Write the answer, a picture and drills there.")
    ] = None,
    broken_off: o.BrokenOff = False,
    replace: o.ReplaceFiles = False,
    language: o.Language = None,
    json: o.AsJson = False,
) -> None:
    """Answer a student's take of a lesson: what to mend, and drills for it.

    \b
    reedpath listen take.wav --lesson lessons/solo
    reedpath listen take.m4a --lesson lessons/solo --out answers/week-3 --language fr
    """
    from reedpath.cli.hearing import show_answer

    show_answer(take, lesson, out=out, broken_off=broken_off, replace=replace, language=language, json=json)

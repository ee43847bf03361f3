"""The commands: their arguments, their help, and where each is carried out.

Everything heavy is imported when a command runs, so that ``--help`` answers at once.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from reedpath import __version__
from reedpath.additions import user_folder
from reedpath.cli import options as o
from reedpath.cli.grouping import AllCommands
from reedpath.cli.options import option
from reedpath.errors import SettingsError

if TYPE_CHECKING:
    from reedpath.jobs import PractiseWishes, ReadPhrase, RouteRequest, SaidOfLesson


class ShelfCommands(AllCommands):
    """The commands of the shelf, which are brought in only when one of them is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names of the commands as they stand in their module."""
        from reedpath.cli.shelf_commands import COMMANDS

        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """A command by its name; an unknown one is told with those that it resembles."""
        from reedpath.cli.shelf_commands import COMMANDS

        self.commands = dict(COMMANDS)
        return super().get_command(ctx, cmd_name)


def _show_completion(ctx: click.Context, _param: click.Parameter, shell: str | None) -> None:
    if shell is not None:
        from reedpath.cli.completion import completion_script

        click.echo(completion_script(app, shell))
        ctx.exit()


def _install_completion(ctx: click.Context, _param: click.Parameter, shell: str | None) -> None:
    if shell is not None:
        from reedpath.cli.completion import install_completion

        click.echo(install_completion(app, shell))
        ctx.exit()


def _of_a_shell(name: str, callback: Any, help: str) -> o.Decorator:
    return option(
        name, metavar="[SHELL]", is_flag=False, flag_value="", callback=callback, is_eager=True, expose_value=False,
        help=help,
    )  # fmt: skip


@click.group(
    cls=AllCommands,
    context_settings={"help_option_names": ["-h", "--help"], "show_default": True},
    epilog="\b\n"
    "Exit status: 0 done, 2 something asked for is not possible, 70 a fault in the program, 130 interrupted.\n\n\b\n"
    "Tunings, temperaments, notations, levels, languages and readers of your own: docs/adding.md, and in\n"
    f"{user_folder()} (or where REEDPATH_FOLDER says).",
)
@click.version_option(__version__, prog_name="reedpath", message="%(prog)s %(version)s", help="Show the version.")
@_of_a_shell("--install-completion", _install_completion, "Teach a shell the commands (bash, zsh, fish, powershell).")
@_of_a_shell("--show-completion", _show_completion, "Print what a shell is taught.")
def app() -> None:
    """From a phrase born on another instrument to a playable, teachable harmonica lesson."""


@app.command("demo")
@option("--out", metavar="DIR", type=Path, default=Path("reedpath-demo"), help="Where the lesson goes.")
@o.REPLACE
@o.LANGUAGE
def demo(**said: Any) -> None:
    """Make a whole lesson from a phrase of our own invention.

    \b
    reedpath demo
    reedpath demo --out first-lesson
    """
    from reedpath.cli.making import make_demo

    make_demo(**said)


@app.command("harp")
@click.argument("key", metavar="KEY", type=o.KeyNames(), help="A, Bb, F#, 'Low F', 'High G'.")
@o.TUNING
@o.TEMPERAMENT
@o.A4
@o.STRETCH
@option("--positions", title=o.RESULT, is_flag=True, help="The twelve positions too.")
@option("--reeds", title=o.RESULT, is_flag=True, help="What each reed is to be tuned to, too.")
@o.NOTATION
@o.LANGUAGE
@o.AS_JSON
def harp(
    key: str, *, tuning: str, temperament: str, a4_hz: float, stretch_cents: float, positions: bool, reeds: bool,
    notation: str, language: str | None, json: bool,
) -> None:  # fmt: skip
    """Show a harp: every note of every hole, bends and overbends included.

    \b
    reedpath harp A
    reedpath harp "Low F" --tuning natural-minor-second --positions
    reedpath harp C --temperament 7-limit-second --a4 442 --reeds
    reedpath harp C --tuning raised-5-draw --json
    """
    from reedpath.cli.harps import show_harp
    from reedpath.jobs import HarpChoice

    choice = HarpChoice(key, (tuning,), temperament, a4_hz, stretch_cents)
    show_harp(choice, positions=positions, reeds=reeds, notation=notation, language=language, json=json)


@app.command("survey")
@o.tunes
@o.request(o.TUNINGS)
@option("--top", title=o.RESULT, type=int, default=12, help="How many lines.")
@o.TUNE_FOR
@option(
    "--out", title=o.RESULT, metavar="FOLDER", type=Path,
    help="Write a table of many tunes there: survey.html, to sort and search, and survey.csv.",
)  # fmt: skip
@o.REPLACE_FILES
@o.CLUSTER
@o.LANGUAGE
@o.AS_JSON
def survey(
    sources: dict[str, Any], request: RouteRequest, *, top: int, tune_for: int | None, out: Path | None,
    replace: bool, cluster: str | None, language: str | None, json: bool,
) -> None:  # fmt: skip
    """Rank the harps, positions and octaves that play a phrase best; or many tunes, each with what plays it best.

    Of a folder, or of several files, every tune has a line: the best harp, how hard it is there, which level it asks
    for. The easiest come first (docs/many-files.md).

    \b
    reedpath survey phrase.musicxml
    reedpath survey solo.txt --owned "A, C, D, Low F" --level strong
    reedpath survey tune.abc --tuning all --any-key --top 5 --json
    reedpath survey solo.txt --owned A --tune-for 1
    reedpath survey tunes --owned "A, C, D" --level easy --out tunes-for-beginners
    """
    files: tuple[Path, ...] = sources["files"]
    of_source = {name: said for name, said in sources.items() if name != "files"}
    if len(files) > 1 or files[0].is_dir() or out is not None or cluster is not None:
        from reedpath.cli.tune_surveys import TunesAsked, show_tunes

        asked = TunesAsked(files, of_source, request, top, tune_for, out, replace=replace, cluster=cluster)
        show_tunes(asked, language=language, json=json)
        return
    from reedpath.cli.reading import source_of

    read = source_of(files[0], **of_source)
    if tune_for is not None:
        from reedpath.cli.retunings import show_retunings

        show_retunings(read, request, reeds=tune_for, top=top, language=language, json=json)
        return
    from reedpath.cli.routes import show_survey

    show_survey(read, request, top=top, language=language, json=json)


@app.command("arrange")
@o.source
@o.request(o.HARP_KEY, o.TUNING, *o.LAST_WORDS)
@option("--others", title=o.RESULT, is_flag=True, help="For every event its other moves, and what each would add.")
@option("--trade-off", title=o.RESULT, is_flag=True, help="Easier and truer routes beside the best.")
@option("--why", title=o.RESULT, is_flag=True, help="Where the effort comes from, move by move.")
@o.NOTATION
@o.LANGUAGE
@o.AS_JSON
def arrange(
    read: ReadPhrase, request: RouteRequest, *, others: bool, trade_off: bool, why: bool, notation: str,
    language: str | None, json: bool,
) -> None:  # fmt: skip
    """Find the best way to play a phrase, on a given harp or the best one.

    \b
    reedpath arrange solo.txt --harp A
    reedpath arrange solo.txt --position 2 --level strong --why
    reedpath arrange phrase.mid --choose track=1 --trade-off
    reedpath arrange solo.txt --harp A --pin 3=3 --avoid 1:2=-3 --others
    """
    from reedpath.cli.routes import RouteView, show_route

    view = RouteView(notation, others=others, trade_off=trade_off, why=why)
    show_route(read, request, view, language=language, json=json)


@app.command("chords")
@o.source
@o.request(o.HARP_KEY, o.TUNING)
@option("--form", title=o.RESULT, help="Only this form: twelve-bar, quick-change, eight-bar ...")
@option("--out", title=o.RESULT, metavar="FILE", type=Path, help="Keep the version for the IV chord in a .json file.")
@o.REPLACE_FILES
@o.NOTATION
@o.LANGUAGE
@o.AS_JSON
def chords(**said: Any) -> None:
    """Say over which chords and bars of a blues a phrase sits, and why.

    \b
    reedpath chords solo.txt
    reedpath chords solo.txt --form twelve-bar --key E --language fr
    reedpath chords solo.txt --harp A --out solo-over-iv.json
    """
    from reedpath.cli.form_places import show_places

    show_places(**said)


@app.command("lesson")
@o.sources
@o.OUT
@o.requests(o.HARP_KEY, o.TUNING, o.TEMPERAMENT, o.A4, o.STRETCH, *o.LAST_WORDS)
@o.said_of_lesson
@o.NOTATION
@option(
    "--languages", title=o.RESULT, metavar="NAMES",
    help="Languages of the steps (en,fr,de), else en,fr or the system's; the first is the sheet's.",
)  # fmt: skip
@option("--paper", title=o.RESULT, default="a4", help="a4 or letter.")
@o.REPLACE
@o.AS_JSON
def lesson(
    sources: dict[str, Any], requests: dict[str, Any], *, out: Path, said: SaidOfLesson, notation: str,
    languages: str | None, paper: str, replace: bool, json: bool,
) -> None:  # fmt: skip
    """Make a lesson folder from a phrase: tab, score, steps, hand-out, play-alongs.

    From several phrases, or a TOML file that lists them, it is a lesson of several pieces, and so it is from one
    phrase with several levels. Options are then for all pieces that do not say otherwise themselves (docs/pieces.md).

    \b
    reedpath lesson solo.txt --out lessons/solo
    reedpath lesson solo.txt --out solo --harp A --level easy --languages fr,en
    reedpath lesson tune.abc --choose tune=3 --bars 1-8 --out tune --notation arrow
    reedpath lesson solo.txt --out solo --pin 3=3 --technique A=octaves
    reedpath lesson solo.txt tune.abc --out evening --title "An evening" --note "Listen first."
    reedpath lesson solo.txt --out two-levels --level easy,advanced
    reedpath lesson plan.toml --out evening
    """
    from reedpath.cli.lessons import LessonAsked, make_lesson

    asked = LessonAsked(sources, requests, said, notation, languages, paper)
    make_lesson(asked, out, replace=replace, json=json)


@app.command("revise")
@o.LESSON_FOLDER
@o.said_of_lesson
@option("--all", "all_again", title=o.RESULT, is_flag=True, help="The sounds and films made of it too, as they were.")
@o.LANGUAGE
@o.AS_JSON
def revise(folder: Path, said: SaidOfLesson, *, all_again: bool, language: str | None, json: bool) -> None:
    """Make a lesson again from its folder, with what you changed in it.

    Change a hole in tab.txt, or a sentence, a heading or a note of your own in steps.md, in any of its languages.
    Everything else is made again from that: score, pictures, sheet, sounds and page.

    \b
    reedpath revise lessons/solo
    reedpath revise lessons/solo --all
    reedpath revise lessons/solo --author "Ada Lind" --note "Listen first." --part-name "A=The question"
    """
    from reedpath.cli.making import revise_folder

    revise_folder(folder, said, all_again=all_again, language=language, json=json)


@app.command("play-along")
@o.LESSON_FOLDER
@option("--out", metavar="DIR", type=Path, help="Where the sounds go; else the folder.")
@o.heard
@option("--as-one", title=o.RESULT, is_flag=True, help="The whole ladder in one file with chapters.")
@option("--spots", title=o.RESULT, is_flag=True, help="The spots to practise apart too, looped.")
@option("--format", title=o.RESULT, default="wav", help="wav, flac, mp3 or opus.")
@o.REPLACE_FILES
@o.LANGUAGE
@o.AS_JSON
def play_along(
    folder: Path, heard: PractiseWishes, *, out: Path | None, as_one: bool, spots: bool, format: str, replace: bool,
    language: str | None, json: bool,
) -> None:  # fmt: skip
    """Make sounds to practise with from a lesson folder.

    \b
    reedpath play-along lessons/solo --band --form twelve-bar --turns call
    reedpath play-along lessons/solo --band --at-bar 1,5,9 --turns call --tempos slow
    reedpath play-along lessons/solo --spots --tempos slow --format mp3
    reedpath play-along lessons/solo --muted --click --as-one --format opus --out phone
    """
    from dataclasses import replace as with_fields

    from reedpath.cli.making import make_sounds

    wishes = with_fields(heard, as_one=as_one, spots=spots, format=format)
    make_sounds(folder, wishes, out or folder, replace=replace, language=language, json=json)


@app.command("slow")
@o.RECORDING
@option("--out", metavar="FILE", type=Path, required=True, help="Where it goes: .wav, .flac, .mp3, .ogg or .opus.")
@option("--to", metavar="SHARE", default="0.5", help="Share of its speed, 1/3 to 1.5.")
@o.FROM_TIME
@o.UNTIL_TIME
@o.BROKEN_OFF
@o.REPLACE_FILES
@o.LANGUAGE
def slow(
    recording: Path, *, out: Path, to: str, start: str, until: str | None, broken_off: bool, replace: bool,
    language: str | None,
) -> None:  # fmt: skip
    """Slow a recorded take or source down without a change of pitch.

    \b
    reedpath slow solo.mp3 --to 0.5 --out solo-half.wav
    reedpath slow evening.mp4 --from 1:02 --until 1:20 --to 1/3 --out lick.mp3
    """
    from reedpath.cli.making import slow_down
    from reedpath.cli.reading import share_of, span_of

    span = span_of(start, until)
    slow_down(recording, out, share_of(to), span, broken_off=broken_off, replace=replace, language=language)


@app.command("transcribe")
@o.RECORDING
@o.FROM_TIME
@o.UNTIL_TIME
@o.TEMPO
@o.MUSIC_KEY
@option("--lead", is_flag=True, help="A finished record: follow its lead through drums, bass and chords.")
@option("--chords", "strings", is_flag=True, help="Plucked strings that may sound together.")
@option("--octaves", is_flag=True, help="Plucked strings that play octaves: write what is likely one as one.")
@option("--harp", metavar="KEY", type=o.KeyNames(), help="The recording is of a harp in this key.")
@o.BROKEN_OFF
@o.TUNING
@o.TEMPERAMENT
@o.A4
@option("--out", metavar="FILE", type=Path, help="Keep the phrase in a .json file.")
@o.REPLACE_FILES
@o.NOTATION
@o.LANGUAGE
@o.AS_JSON
def transcribe(
    recording: Path, *, start: str, until: str | None, tempo: float | None, music_key: str | None, lead: bool,
    strings: bool, octaves: bool, harp: str | None, broken_off: bool, tuning: str, temperament: str, a4_hz: float,
    out: Path | None, replace: bool, notation: str, language: str | None, json: bool,
) -> None:  # fmt: skip
    """Write down the phrase that a recording plays.

    \b
    reedpath transcribe solo.mp3 --from 12.5 --until 20 --out solo.json
    reedpath lesson solo.json --out lessons/solo
    reedpath transcribe take.wav --harp A
    reedpath transcribe record.mp3 --lead --from 0:05 --until 0:15 --out solo.json
    """
    from reedpath.cli.hearing import show_transcription
    from reedpath.cli.reading import span_of
    from reedpath.jobs import HarpChoice, HearingChoice
    from reedpath.pitch import parse_key

    if lead and (strings or octaves):
        raise SettingsError("cli.lead_or_chords")
    harmonica = HarpChoice(harp, (tuning,), temperament, a4_hz) if harp is not None else None
    key = parse_key(music_key) if music_key is not None else None
    choice = HearingChoice(*span_of(start, until), tempo, strings, key, harmonica, broken_off, lead, octaves)
    show_transcription(recording, choice, out=out, replace=replace, notation=notation, language=language, json=json)


@app.command("align")
@o.RECORDING
@o.LESSON
@o.BROKEN_OFF
@o.LANGUAGE
@o.AS_JSON
def align(**said: Any) -> None:
    """Line a take up with its lesson: when each event sounds, in every play-through.

    \b
    reedpath align take.wav --lesson lessons/solo
    reedpath align film.mp4 --lesson lessons/solo --json
    """
    from reedpath.cli.hearing import show_lined_up

    show_lined_up(**said)


@app.command("film")
@o.LESSON_FOLDER
@click.argument("more", metavar="[FILM]...", nargs=-1, type=o.FilePath(), help="With --from, more of the footage.")
@option("--out", metavar="FILE", type=Path, required=True, help="The film: .mp4, or as the teacher's film is.")
@option(
    "--from",
    "raw",
    title="Raw footage",
    metavar="FILM",
    multiple=True,
    type=o.FilePath(),
    help="Propose a cut of raw footage, in one file or several: talk, and of each part at each tempo the best.",
)
@option(
    "--render", title="Raw footage", is_flag=True, help="Make the film of it, by the list beside it if there is one."
)
@option("--side", title="Raw footage", default="over", help="The strip over the picture, or beside it.")
@option("--over", metavar="FILM", type=Path, help="Lay the strip over the teacher's own film.")
@option("--beside", metavar="FILM", type=Path, help="Put the strip beside the teacher's own film.")
@option("--cut", is_flag=True, help="Cut the teacher's film: of what is played again and again the best stays.")
@option("--cut-as", metavar="FILE", type=Path, help="Cut it as this file says, corrected by hand.")
@option("--strip", metavar="KIND", help="Also the strip alone, transparent: runs, prores or vp9.")
@option("--screen", default="landscape", help="landscape or upright.")
@option("--palette", default="night", help="night, paper or ink.")
@option("--steps/--no-steps", default=True, help="Go through the steps first.")
@o.heard
@o.REPLACE_FILES
@o.LANGUAGE
@o.AS_JSON
def film(
    folder: Path, heard: PractiseWishes, *, more: tuple[Path, ...], out: Path, raw: tuple[Path, ...], render: bool,
    side: str, over: Path | None, beside: Path | None, cut: bool, cut_as: Path | None, strip: str | None,
    screen: str, palette: str, steps: bool, replace: bool, language: str | None, json: bool,
) -> None:  # fmt: skip
    """Make a film of a lesson, or lay its tab in time over a teacher's own.

    Captions (WebVTT, SRT), chapters, a text to publish and a title picture appear beside the film.

    \b
    reedpath film lessons/solo --out solo.mp4
    reedpath film lessons/solo --out phone.mp4 --screen upright --tempos slow,full --language fr
    reedpath film lessons/solo --out jam.mp4 --band --form twelve-bar --turns call --tempos full --no-steps
    reedpath film lessons/solo --over me-playing.mp4 --strip vp9 --out taught.mp4
    reedpath film lessons/solo --over raw.mp4 --cut --out taught.mp4
    reedpath film lessons/solo --from raw.mp4 me-playing.mp4 --out taught.mp4
    """
    from reedpath.cli.footage import check_footage, film_from_footage
    from reedpath.cli.making import film_of_cut, film_of_lesson, film_of_takes, lesson_wishes, take_wishes

    others = over is not None or beside is not None or cut or strip is not None
    check_footage(raw, more, render=render, others=others)
    if raw:
        laid = take_wishes(heard, side, screen=screen, palette=palette, language=language)
        films = (*raw, *more)
        film_from_footage(
            folder, films, laid, out, render=render, cut_as=cut_as, replace=replace, language=language, json=json
        )
        return
    teachers = [(side, film) for side, film in (("over", over), ("beside", beside)) if film is not None]
    if len(teachers) > 1:
        raise SettingsError("cli.over_or_beside")
    if strip is not None and not teachers:
        raise SettingsError("cli.strip_of_a_film")
    is_cut = cut or cut_as is not None
    if is_cut and not teachers:
        raise SettingsError("cli.cut_of_a_film")
    if is_cut and strip is not None:
        raise SettingsError("cli.cut_or_strip")
    if not teachers:
        wishes = lesson_wishes(heard, screen=screen, palette=palette, steps=steps, language=language)
        film_of_lesson(folder, out, wishes, replace=replace, language=language, json=json)
    for side, film in teachers:
        laid = take_wishes(heard, side, screen=screen, palette=palette, language=language)
        if is_cut:
            film_of_cut(folder, film, laid, out, cut=cut_as, replace=replace, language=language, json=json)
            continue
        film_of_takes(folder, film, laid, out, strip=strip, replace=replace, language=language, json=json)


@app.command("listen")
@o.RECORDINGS
@o.LESSONS
@option("--student", metavar="NAME", help="Whose takes these are; else told from names of files and folders.")
@option("--shelf", metavar="FILE", type=Path, help="The shelf with the lessons, in place of your own.")
@option(
    "--out", metavar="DIR", type=Path, help="Write the answer there, a picture and drills; of many, each in a folder."
)
@option("--all", "everything", is_flag=True, help="Tell all that is not as asked, not one or two things only.")
@o.BROKEN_OFF
@o.CLUSTER
@o.REPLACE_FILES
@o.LANGUAGE
@o.AS_JSON
def listen(
    recordings: tuple[Path, ...], *, lessons: tuple[Path, ...], student: str | None, shelf: Path | None,
    out: Path | None, everything: bool, broken_off: bool, cluster: str | None, replace: bool, language: str | None,
    json: bool,
) -> None:  # fmt: skip
    """Answer students' takes of lessons: what went well, what to mend, drills for it, and the next step.

    Of many takes each one's lesson is found, each answer has a folder of its own, and an overview says who plays
    what, better or worse than last time and where, and what to say to each. No take is answered there twice.

    \b
    reedpath listen take.wav --lesson lessons/solo
    reedpath listen take.m4a --lesson lessons/solo --out answers/week-3 --language fr
    reedpath listen takes --lesson lessons --out answers
    reedpath listen Anna*.m4a --student Anna --lesson lessons --out answers
    """
    from reedpath.cli.takes import TakesSaid, is_one_take, show_takes

    said = TakesSaid(recordings, lessons, shelf, student, out, cluster, everything, broken_off, replace)
    if not is_one_take(said):
        show_takes(said, language=language, json=json)
        return
    from reedpath.cli.hearing import show_answer

    show_answer(
        recordings[0], lessons[0], out=out, everything=everything, broken_off=broken_off, replace=replace,
        language=language, json=json,
    )  # fmt: skip


@app.command("index")
@o.FOLDER_OF_LESSONS
@o.REPLACE_FILES
@o.LANGUAGE
@o.AS_JSON
def index(**said: Any) -> None:
    """Make one page over all lessons in a folder, and one PDF of all hand-outs.

    \b
    reedpath index lessons
    reedpath index lessons --replace --language fr
    """
    from reedpath.cli.collecting import index_folder

    index_folder(**said)


@app.command("needs")
@o.FOLDERS_OF_LESSONS
@o.TUNE_FOR
@o.LANGUAGE
@o.AS_JSON
def needs(**said: Any) -> None:
    """Say what lessons call for: which harps, how they are set up, which techniques.

    \b
    reedpath needs lessons
    reedpath needs lessons/solo --json
    reedpath needs lessons --tune-for 1
    """
    from reedpath.cli.collecting import show_needs

    show_needs(**said)


@app.group("shelf", cls=ShelfCommands)
def shelf() -> None:
    """Keep phrases, lessons, students and takes in one place, and find them again.

    \b
    reedpath shelf add lessons --tag blues
    reedpath shelf find --tune "E G A Bb A G E"
    """


@app.command("studio")
@option(
    "--shelf", metavar="FILE", type=Path, help="The shelf; else your own, in your folder. Made where there is none."
)
@option("--port", metavar="NUMBER", type=o.WholeNumber(), help="The port to use; else one that is free.")
@option("--no-browser", is_flag=True, help="Only print the address; do not open a browser.")
@option(
    "--demo",
    is_flag=True,
    help="With invented phrases, students and takes; gone afterwards, unless --shelf names where.",
)
@o.LANGUAGE
def studio(*, shelf: Path | None, port: int | None, no_browser: bool, demo: bool, language: str | None) -> None:
    """Open the studio: the shelf, the workbench, lessons and students in a browser, on this machine alone.

    \b
    reedpath studio
    reedpath studio --demo
    reedpath studio --shelf teaching.sqlite --no-browser
    """
    from reedpath.cli.studio import open_studio

    open_studio(shelf, port=port, with_browser=not no_browser, demo=demo, language=language)

"""The options of the commands, each said once, and the groups of options that reach a command as one value."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

import click

from reedpath.errors import SettingsError

if TYPE_CHECKING:
    from reedpath.jobs import PlayerChoice, PractiseWishes, ReadPhrase, RouteRequest, SaidOfLesson

# what a command's context keeps where a B was read as B natural, and where one is
PLAIN_B = "reedpath.plain_b"
# what it keeps of the words of the command, by which the person's language is known
SAID = "reedpath.said"
_PLAIN_B = re.compile(r"\b[Bb](?![\w♭#♯]|[\s-]+(?i:flat|sharp|bémol|dièse|dur|moll))")

# a command before its options are known, and what gives it one
Command: TypeAlias = Callable[..., None]
Decorator: TypeAlias = Callable[[Command], Command]

# titles of groups of options in the help
SOURCE, HARP, PLAYER, RESULT, SOUND = "The source", "The harp", "The player", "The result", "What is heard"
LAST_WORD = "The last word"


class Number(click.ParamType[float]):
    """A number, with a point or a comma."""

    name = "number"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Read a number as it was typed; SettingsError for what is none."""
        try:
            return float(value.replace(",", ".") if isinstance(value, str) else value)
        except ValueError:
            raise SettingsError("cli.no_number", option=_typed(param), value=value) from None


class WholeNumber(click.ParamType[int]):
    """A whole number."""

    name = "number"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        """Read a whole number as it was typed; SettingsError for what is none."""
        try:
            return int(value)
        except ValueError:
            raise SettingsError("cli.no_whole_number", option=_typed(param), value=value) from None


class Words(click.ParamType[str]):
    """What is said in words."""

    name = "text"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """Read words as they were typed; SettingsError for none, which would pass for nothing asked."""
        text = str(value)
        if not text.strip():
            raise SettingsError(
                "cli.empty_value", option=_typed(param), command=ctx.command_path if ctx else "reedpath"
            )
        return text


class KeyNames(click.ParamType[str]):
    """Names of keys, of harps or of music, or of notes.

    is_told : whether it is told how a B was read.
    """

    name = "text"

    def __init__(self, *, is_told: bool = True) -> None:
        self.is_told = is_told

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """Take names as they were typed, and note a B, which is B flat to those who speak German."""
        text = str(value)
        if ctx is None or not _PLAIN_B.search(text):
            return text
        from reedpath.cli.printing import catalogue_of_words
        from reedpath.wording import plain_names

        if self.is_told:
            ctx.meta[PLAIN_B] = True
        return plain_names(text, catalogue_of_words(ctx.meta.get(SAID, ())))


class FilePath(click.Path):
    """The name of a file or folder."""

    def __init__(self) -> None:
        super().__init__(path_type=Path)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Read a name as it was typed; SettingsError for an empty one, which would mean the folder one is in."""
        if value == "":
            written = param.metavar if isinstance(param, click.Argument) else _typed(param)
            raise SettingsError("cli.empty_name", option=written or "")
        return super().convert(value, param, ctx)


def _typed(param: click.Parameter | None) -> str:
    return "" if param is None else param.opts[0]


class TitledOption(click.Option):
    """An option that stands under a title of its own in the help."""

    def __init__(self, *args: Any, title: str = "", **settings: Any) -> None:
        super().__init__(*args, **settings)
        self.title = title


def option(*names: str, title: str = "", **settings: Any) -> Decorator:
    """An option of a command: its names, its title in the help, and what click takes.

    An option whose type is given as a value, not a class, has a word of its own for an empty value.
    """
    read_by = {float: Number(), int: WholeNumber(), Path: FilePath()}
    has_words = not settings.get("is_flag") and "flag_value" not in settings and "/" not in names[0]
    if has_words:
        settings["type"] = read_by.get(settings["type"], settings["type"]) if "type" in settings else Words()
    return click.option(*names, cls=TitledOption, title=title, **settings)


def _path(name: str, metavar: str, help: str) -> Decorator:
    return click.argument(name, metavar=metavar, help=help, type=FilePath())


def _name_of(one: Decorator) -> str:
    """What an option's value is called when it reaches a command."""
    if isinstance(one, OptionGroup):
        return one.name
    params: list[click.Parameter] = one(lambda **_: None).__click_params__  # type: ignore[attr-defined]  # click's own
    return params[0].name or ""


@dataclass(frozen=True, slots=True)
class OptionGroup:
    """Options that reach the command as one value, ``build`` called with what was said.

    options : options, and groups of them, in the order of the help.
    """

    name: str
    build: Callable[..., object]
    options: tuple[Decorator, ...]

    def __call__(self, command: Command) -> Command:
        """Give a command the options."""
        names = [_name_of(one) for one in self.options]

        @wraps(command)
        def called(**said: Any) -> None:
            value = self.build(**{one: said.pop(one) for one in names})
            command(**{self.name: value}, **said)

        with_all: Command = called
        for one in reversed(self.options):
            with_all = one(with_all)
        return with_all


def as_one(name: str, build: Callable[..., object], *options: Decorator) -> OptionGroup:
    """A group of options, written down as a call."""
    return OptionGroup(name, build, options)


MUSIC_KEY = option(
    "--key", "music_key", title=SOURCE, type=KeyNames(), help="The phrase's key: E, Am, 'F# minor', 'la mineur'."
)
TEMPO = option("--tempo", title=SOURCE, type=float, help="Quarter notes a minute.")


def _source(file: Path, **said: Any) -> ReadPhrase:
    from reedpath.cli.reading import source_of

    return source_of(file, **said)


_SOURCE = (
    option("--format", title=SOURCE, help="The source's format, where it is not recognized: "
           "musicxml, midi, abc, fret-tab, harmonica-tab or phrase-json."),
    option("--choose", title=SOURCE, metavar="NAME=VALUE", type=click.STRING, multiple=True,
           help="What of the source to read: part=2, track=1, tune=3 ... May be given several times."),
    option("--bars", title=SOURCE, metavar="FIRST-LAST", type=click.STRING,
           help="Only these bars, as the source counts them: 5-8."),
    option("--lead", title=SOURCE, is_flag=True, help="Reduce the source to its lead line."),
    MUSIC_KEY,
    TEMPO,
)  # fmt: skip
source = as_one(
    "read", _source, _path("file", "FILE", "MusicXML, MIDI, ABC, guitar fret tab or harmonica tab."), *_SOURCE
)
# what is said of one source or of several, as it was said
sources = as_one(
    "sources", dict,
    click.argument(
        "files", metavar="FILE...", nargs=-1, required=True, type=FilePath(),
        help="MusicXML, MIDI, ABC, guitar fret tab or harmonica tab; several for a lesson of several pieces, or a "
        "TOML file that lists them.",
    ),
    *_SOURCE,
)  # fmt: skip
# likewise, of one phrase or of many tunes
tunes = as_one(
    "sources", dict,
    click.argument(
        "files", metavar="FILE...", nargs=-1, required=True, type=FilePath(),
        help="MusicXML, MIDI, ABC, guitar fret tab or harmonica tab; for many tunes several, or folders.",
    ),
    *_SOURCE,
)  # fmt: skip

HARP_KEY = option(
    "--harp", "key", title=HARP, metavar="KEY", type=KeyNames(), help="Key of the harp: A, Bb, 'Low F', la."
)
TUNING = option("--tuning", title=HARP, default="standard", help="Name of a tuning, or a TOML file.")
TUNINGS = option(
    "--tuning", title=HARP, multiple=True,
    help="Name of a tuning, or a TOML file; several times for several, 'all' for all that ship.",
)  # fmt: skip
TEMPERAMENT = option(
    "--temperament", title=HARP, default="equal", help="Name of a temperament, or a .scl or TOML file."
)
A4 = option("--a4", "a4_hz", title=HARP, metavar="HZ", type=float, default=440.0, help="Reference pitch.")
STRETCH = option(
    "--stretch",
    "stretch_cents",
    title=HARP,
    metavar="CENTS",
    type=float,
    default=0.0,
    help="Widening of each octave.",
)


def _player(**said: Any) -> PlayerChoice:
    from reedpath.jobs import PlayerChoice

    return PlayerChoice(**said)


def _request(*, player: PlayerChoice, tuning: str | tuple[str, ...], owned: str | None, **said: Any) -> RouteRequest:
    from reedpath.cli.reading import owned_harps, tunings_of
    from reedpath.jobs import HarpChoice, RouteRequest

    if owned is not None and said.get("key") is not None:
        raise SettingsError("cli.harp_or_owned")
    tunings = (tuning,) if isinstance(tuning, str) else tunings_of(tuning)
    words = {name: said.pop(name, ()) for name in ("pin", "avoid", "technique")}
    if any(words.values()):
        from reedpath.jobs import said_of_event, said_of_part

        events = (said_of_event(text, avoid=name == "avoid") for name in ("pin", "avoid") for text in words[name])
        said |= {"said": tuple(events), "techniques": tuple(map(said_of_part, words["technique"]))}
    of_harp = {"key", "temperament", "a4_hz", "stretch_cents"} & said.keys()
    harp = HarpChoice(tunings=tunings, **{name: said.pop(name) for name in of_harp})
    return RouteRequest(harp, owned=owned_harps(owned), player=player, **said)


LAST_WORDS = (
    option("--pin", title=LAST_WORD, metavar="EVENT=MOVE", multiple=True,
           help="Play this event with this move: 7=-3' or, by bar and beat, 2:3=-3'. May be given several times."),
    option("--avoid", title=LAST_WORD, metavar="EVENT=MOVE", multiple=True,
           help="Do not play this event with this move. May be given several times."),
    option("--technique", title=LAST_WORD, metavar="PART=NAME", multiple=True,
           help="Play a whole part this way: B=octaves (single notes as tongue-blocked octaves, where the harp has "
           "them) or B=plain (without bends and overblows, where the note is there otherwise)."),
    option("--rearrange", title=LAST_WORD, is_flag=True,
           help="Search again, where a harmonica tab itself says harp and moves."),
)  # fmt: skip


def _said_of_lesson(**said: Any) -> SaidOfLesson:
    from reedpath.jobs import SaidOfLesson

    return SaidOfLesson(**said)


said_of_lesson = as_one(
    "said", _said_of_lesson,
    option("--title", title=LAST_WORD, help="The lesson's title, else the source's."),
    option("--author", title=LAST_WORD, metavar="NAME", help="Who made the lesson."),
    option("--date", title=LAST_WORD, metavar="TEXT", help="When, in your own words."),
    option("--note", "notes", title=LAST_WORD, metavar="TEXT", multiple=True,
           help="A note to the student, before everything; in another of the lesson's languages: 'fr:On écoute'."),
    option("--part-name", "part_names", title=LAST_WORD, metavar="PART=NAME", multiple=True,
           help="What a part is called: 'A=The question', 'fr:A=La question'. May be given several times."),
)  # fmt: skip
_SWITCHES = ("overblows", "overdraws", "splits", "chords")
LEVELS = "first-months, easy, steady, strong or advanced"


def _level(help: str) -> Decorator:
    return option("--level", title=PLAYER, help=help)


_PLAYER = (
    option("--draw-bends", title=PLAYER, metavar="SEMITONES", type=int, help="Deepest draw bend, 0 for none."),
    option("--blow-bends", title=PLAYER, metavar="SEMITONES", type=int, help="Deepest blow bend, 0 for none."),
    *(option(f"--{one}/--no-{one}", title=PLAYER, default=None) for one in _SWITCHES),
)


def _request_options(*harp: Decorator) -> tuple[Decorator, ...]:
    return (
        *harp,
        option("--position", title=HARP, type=int, help="Choose the harp by position, 1 to 12."),
        option("--owned", title=HARP, metavar="KEYS", type=KeyNames(),
               help="Choose among these harps: A,C,D,'Low F'."),
        option("--shift", "shift_semitones", title=HARP, metavar="SEMITONES", type=int,
               help="Move the phrase this far; else to the best octave."),
        option("--any-key", title=HARP, is_flag=True, help="The phrase may be moved to any key."),
    )  # fmt: skip


def request(*harp: Decorator) -> Decorator:
    """How a phrase is to be arranged, asked with these options of the harp beside those that all have."""
    return as_one(
        "request", _request, *_request_options(*harp), as_one("player", _player, _level(f"{LEVELS}."), *_PLAYER)
    )


def requests(*harp: Decorator) -> Decorator:
    """The same for several phrases, as it was said."""
    player = as_one("player", dict, _level(f"{LEVELS}; several for variants beside it: easy,advanced."), *_PLAYER)
    return as_one("requests", dict, *_request_options(*harp), player)


def request_of(said: Mapping[str, Any]) -> RouteRequest:
    """What `requests` gives, for one phrase."""
    return _request(**dict(said) | {"player": _player(**said["player"])})


def _heard(**said: Any) -> PractiseWishes:
    from reedpath.cli.reading import practise_wishes

    return practise_wishes(**said)


heard = as_one(
    "heard", _heard,
    option("--tempos", title=SOUND, metavar="NAMES", help="Only these of the ladder: slow,full."),
    option("--band", title=SOUND, is_flag=True, help="With a small band that follows form and key."),
    option("--form", title=SOUND, default="auto", help="Form of the music; 'auto' for what suits."),
    option("--groove", title=SOUND, default="auto", help="Groove of the band; 'auto' for what suits."),
    option("--rounds", title=SOUND, type=int, default=2, help="How many times the form goes round."),
    option("--intro", title=SOUND, metavar="BARS", type=int, default=0,
           help="Bars that the band plays before the first round, 0 to 12."),
    option("--seed", title=SOUND, type=int, default=2, metavar="NUMBER",
           help="Another number, and the band plays it another way; the same gives the same sound."),
    option("--loose", title=SOUND, type=float, default=1.0, metavar="TIMES",
           help="How far the band's time wanders: 1 as players do, 0 stands on the beat, at most 2."),
    option("--at-bar", title=SOUND, metavar="BARS",
           help="Bars of the form at which the phrase stands: 1,5,9, or turnaround; else each round begins with it."),
    option("--turns", title=SOUND, default="together", help="together, call (yours is every second round) or yours."),
    option("--chords", title=SOUND, default="guitar", help="guitar, piano or both."),
    option("--without", title=SOUND, metavar="PLAYERS", help="Leave out: drums,bass."),
    option(
        "--bank", title=SOUND, metavar="FILE", type=Path, help="A sound bank of your own for the band: .sf2."
    ),
    option("--count-in", title=SOUND, metavar="BARS", type=int, default=1, help="Bars counted in, 0 to 4."),
    option("--click", title=SOUND, is_flag=True, help="The click goes on under the phrase."),
    option("--muted", title=SOUND, is_flag=True, help="Without the harmonica: your turn."),
    option("--slaps", title=SOUND, is_flag=True, help="Accented notes are slapped with the tongue."),
)  # fmt: skip

RECORDING = _path("recording", "RECORDING", "A sound file, or the sound of a video.")
FOLDER_OF_LESSONS = _path("folder", "FOLDER", "A folder that holds lesson folders.")
FOLDERS_OF_LESSONS = click.argument(
    "folders", metavar="FOLDER...", nargs=-1, required=True, type=FilePath(),
    help="Lesson folders, or folders that hold them.",
)  # fmt: skip
LESSON_FOLDER = _path("folder", "FOLDER", "A lesson folder.")
LESSON = option("--lesson", metavar="FOLDER", type=Path, required=True, help="The lesson's folder.")
RECORDINGS = click.argument(
    "recordings", metavar="RECORDING...", nargs=-1, required=True, type=FilePath(),
    help="Sound files, or the sound of videos; or folders of them.",
)  # fmt: skip
LESSONS = option(
    "--lesson", "lessons", metavar="FOLDER", type=Path, multiple=True,
    help="The lesson's folder, or a folder of lessons, among which each take's is found; may be given several times. "
    "Else the lessons on the shelf.",
)  # fmt: skip
FROM_TIME = option("--from", "start", metavar="TIME", default="0", help="Where it begins: 12.5 or 1:02.5.")
UNTIL_TIME = option("--until", metavar="TIME", help="Where it ends.")
BROKEN_OFF = option("--broken-off", is_flag=True, help="Hear a file that breaks off as far as it goes.")

OUT = option("--out", title=RESULT, metavar="DIR", type=Path, required=True, help="Where the lesson goes.")
NOTATION = option(
    "--notation", title=RESULT, default="sign", help="sign, arrow, letters-en, letters-fr, letters-de or bracket."
)
TUNE_FOR = option(
    "--tune-for", title=RESULT, metavar="REEDS", type=int,
    help="Instead, which small retuning of one reed or of two makes it easiest.",
)  # fmt: skip
LANGUAGE = option("--language", title=RESULT, help="en, fr, de, es, it or one of your own; else the system's.")
CLUSTER = option(
    "--cluster", title=RESULT, metavar="ADDRESS",
    help="Send the work to the Dask cluster at this address (host:port); else this machine does it.",
)  # fmt: skip
AS_JSON = option("--json", title=RESULT, is_flag=True, help="Print data (JSON).")
REPLACE = option(
    "--replace", title=RESULT, is_flag=True,
    help="Make the lesson again in a folder that holds one; what was edited by hand is kept.",
)  # fmt: skip
REPLACE_FILES = option("--replace", title=RESULT, is_flag=True, help="Overwrite what is there.")

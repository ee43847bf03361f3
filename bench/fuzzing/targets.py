"""What is read from outside: for each kind of input its seeds, its changes, its reader, and what follows."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from functools import partial
from typing import Any

from fuzzing import later, media, said, seeds, shelves
from fuzzing.kinds import Target
from fuzzing.mutation import (
    MARKED,
    PLAIN,
    SETTINGS,
    TREES,
    WRITTEN,
    Change,
    edge,
    element,
    number,
    packed,
    put,
    text,
    with_track_lengths,
    word,
)
from reedpath.additions import MOST_BYTES
from reedpath.arrange import Player
from reedpath.arrange.player import _PlayerFile, parse_levels, parse_weights
from reedpath.data import extended, read_json, read_toml
from reedpath.errors import ReadError
from reedpath.harp import parse_notation, parse_scl, parse_temperament, parse_tuning
from reedpath.jobs.folder_plans import FolderPlan, MadeFiles
from reedpath.jobs.lesson_plans import plan_from
from reedpath.jobs.lessons import tab_text
from reedpath.lesson import (
    decode_lesson,
    decode_lesson_of_pieces,
    encode_lesson_of_pieces,
    read_steps,
    read_steps_of_pieces,
)
from reedpath.page import read_tab
from reedpath.readers import read_phrase
from reedpath.wording import load_catalogue
from reedpath.wording.loading import parse_catalogue


def _text_of(data: bytes) -> str:
    """As files of settings are read (`jobs.disk.read_text`, `additions`)."""
    try:
        return data[:MOST_BYTES].decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise ReadError("jobs.no_utf8") from error


def _value(follow: Callable[[Any, random.Random], None]) -> Callable[[Any, bytes, random.Random], None]:
    return lambda value, _data, draw: follow(value, draw)


def _source(
    name: str,
    make: Callable[[], Sequence[bytes]],
    changes: Sequence[Change],
    tokens: Sequence[str | bytes],
    mended: Callable[[bytes], bytes] | None = None,
) -> Target:
    return Target(
        name,
        make,
        changes,
        partial(read_phrase, format=name.removesuffix("-packed")),
        lambda _phrase, data, draw: later.source_taken(data, name.removesuffix("-packed"), draw),
        [one.encode() if isinstance(one, str) else one for one in tokens],
        mended,
    )


def _settings(
    name: str,
    make: Callable[[], Sequence[bytes]],
    parse: Callable[[str], Any],
    follow: Callable[[Any, random.Random], None],
    tokens: Sequence[str] = (),
    share: float = 0.02,
) -> Target:
    return Target(
        name,
        make,
        SETTINGS,
        lambda data: parse(_text_of(data)),
        _value(follow),
        [one.encode() for one in tokens],
        share=share,
    )


def _player(text: str) -> Player:
    return extended(read_toml(text, _PlayerFile, file="own.toml"), Player, level="own")


def _nothing(_value: Any, _draw: random.Random) -> None:
    pass


ABC_TOKENS = (
    "|",
    "||",
    "|:",
    ":|",
    "::",
    "|1",
    "[2",
    "[1-3,5",
    "&",
    "-",
    ">",
    "<<",
    "(3",
    "(9:99:99",
    "{",
    "}",
    "[",
    "]",
    "!",
    '"',
    "!D.C.!",
    "!segno!",
    "!coda!",
    "!dacoda!",
    "!fine!",
    "\\",
    "%",
    "Z99",
    "x2",
    "C3/2",
    "[CEG]",
    "{g}",
    "~",
    "\nP:A\n",
    "\nV:2\n",
    "\nM:3/4\n",
    "\nL:1/16\n",
    "\nK:G\n",
    "\nQ:1/4=100\n",
    "\nX:2\nK:C\n",
    "[K:Am]",
    "[M:none]",
    "[M:C|]",
    '[Q:"Allegro" 1/8=300]',
    "m:~n=",
    "U:T=",
    "%%MIDI transpose 12\n",
    "K:C transpose=99",
    "K:none octave=-9",
    "^c''''''''",
    "C,,,,,,,,",
)
TAB_TOKENS = (
    "e|",
    "B|",
    "-12-",
    "-24b26r24-",
    "h",
    "p",
    "/",
    "\\",
    "x",
    "~",
    "(5)",
    "<12>",
    "||",
    "|:",
    ":|",
    "x2",
    "*",
    "\n\n",
    "tuning: ",
    "capo: ",
    "tempo: ",
    "time: ",
    "key: ",
    "Drop D",
    "q",
    "e.",
    "h",
    "=",
    "3:2",
    "bar 3",
    "[Verse]",
    "-9999-",
    "22",
    "5b99",
    "swing",
    "triplet",
    "repeat 3 times",
)
HARP_TOKENS = (
    "-2''",
    "4",
    "+4",
    "(4 5)",
    "4-5",
    "6o",
    "10''",
    "-7o",
    "4~",
    "|",
    "||",
    "[",
    "]",
    "x2",
    "harp: ",
    "key: ",
    "tempo: ",
    "time: ",
    "tuning: ",
    "temperament: ",
    "notation: ",
    "rhythm: ",
    "q",
    "e.",
    "4S",
    "4A",
    "4D",
    "↑",
    "↓",
    "blow",
    "draw",
    "B4",
    "D4'",
    "11",
    "99",
    "4/5",
    "title: ",
    "swing: ",
)
MIDI_TOKENS = (
    b"MTrk\0\0\0\x04",
    b"MThd\0\0\0\6\0\1\0\1\x01\xe0",
    b"\0\xff\x2f\0",
    b"\0\xff\x51\3\0\0\1",
    b"\0\xff\x51\3\xff\xff\xff",
    b"\0\xff\x58\4\0\0\0\0",
    b"\0\xff\x58\4\x0c\xff\1\1",
    b"\0\xff\x59\2\x80\1",
    b"\0\x90\x3c\x40",
    b"\0\x90\x7f\x7f",
    b"\x87\x68\x80\x3c\0",
    b"\0\xe0\0\0",
    b"\0\xe0\x7f\x7f",
    b"\0\xb0\x06\x7f",
    b"\0\xb0\x65\0",
    b"\0\xf0\x02\0\xf7",
    b"\xff\xff\xff\x7f",
    b"\0\xff\x03\x05a\\1\xed\xa0",
    b"\0\xff\x06\x04\x1b[1m",
)

TARGETS: tuple[Target, ...] = (
    _source("abc", lambda: (seeds.ABC, seeds.example("orchard-gate.abc")), WRITTEN, ABC_TOKENS),
    _source("midi", seeds.midi_files, (edge, *PLAIN), MIDI_TOKENS, with_track_lengths),
    _source("musicxml", seeds.scores, MARKED, ()),
    _source(
        "musicxml-packed",
        lambda: (seeds.packed_score(),),
        tuple(map(packed, (element, element, number, word, text, put))),
        (),
    ),
    _source(
        "fret-tab",
        lambda: (
            seeds.FRET_TAB,
            *(seeds.example(f"{name}.txt") for name in ("shuffle-in-e", "slow-walk-in-a-minor", "two-questions")),
        ),
        WRITTEN,
        TAB_TOKENS,
    ),
    _source(
        "harmonica-tab",
        lambda: (seeds.HARMONICA_TAB, seeds.example("boxcar-in-a.txt"), *seeds.tabs()),
        WRITTEN,
        HARP_TOKENS,
    ),
    _source("phrase-json", seeds.phrases, TREES, ()),
    Target(
        "any source",
        lambda: (
            seeds.ABC,
            seeds.FRET_TAB,
            seeds.HARMONICA_TAB,
            *seeds.scores(),
            *seeds.midi_files(),
            *seeds.phrases(),
        ),
        (*WRITTEN, *PLAIN),
        partial(read_phrase, name="source.txt"),
        _value(later.phrase_taken),
        tuple(one.encode() for one in (*ABC_TOKENS, *TAB_TOKENS, *HARP_TOKENS)),
    ),
    Target("lesson", seeds.lessons, TREES, decode_lesson, _value(later.read_lesson_again)),
    Target(
        "edited tab",
        lambda: (tab_text(seeds.lesson()).encode(),),
        WRITTEN,
        lambda data: read_tab(_text_of(data), seeds.lesson(), tab_text(seeds.lesson())),
        _value(later.edited_tab_taken),
        tuple(one.encode() for one in HARP_TOKENS),
        share=0.1,
    ),
    Target(
        "edited steps",
        lambda: (seeds.steps()[0].encode(),),
        WRITTEN,
        lambda data: read_steps(_text_of(data), seeds.lesson(), seeds.steps()[1]),
        _value(later.edited_steps_taken),
        (b"# ", b"## ", b"- ", b"1. ", b"\n\n", b"**", b"> "),
        share=0.1,
    ),
    Target(
        "lesson of several pieces",
        lambda: (encode_lesson_of_pieces(seeds.pieces()),),
        TREES,
        lambda data: decode_lesson_of_pieces(data, lambda _folder: seeds.lesson()),
        _value(later.read_pieces_again),
    ),
    Target(
        "edited steps of several pieces",
        lambda: (seeds.pieces_steps()[0].encode(),),
        WRITTEN,
        lambda data: read_steps_of_pieces(_text_of(data), seeds.pieces(), seeds.pieces_steps()[1]),
        _value(later.read_pieces_again),
        (b"# ", b"## ", b"### ", b"#### ", b"- ", b"\n\n", b"**", b"> "),
        share=0.1,
    ),
    _settings(
        "plan of a lesson",
        lambda: (seeds.LESSON_PLAN,),
        partial(plan_from, file="plan.toml"),
        later.plan_taken,
        ("[[piece]]", "filler-of = ", "variant-of = ", "source = ", "level = "),
    ),
    Target(
        "made-files", lambda: (seeds.made_files(),), TREES, lambda data: read_json(data, MadeFiles), _value(_nothing)
    ),
    Target("plan of files", lambda: (seeds.PLAN,), TREES, lambda data: read_json(data, FolderPlan), _value(_nothing)),
    _settings(
        "scala",
        lambda: (seeds.SCALE, b"! x\nthree\n 3\n 5/4\n 701.955 G\n 2/1\n"),
        partial(parse_scl, name="own"),
        later.temperament_taken,
        ("2/1", "1200.", "!", "0.", "-5/4"),
    ),
    _settings(
        "tuning",
        lambda: tuple(seeds.shipped("harp", "tunings", f"{name}.toml") for name in ("standard", "circular")),
        partial(parse_tuning, name="own"),
        later.tuning_taken,
        ("C4", "G9", "C-1", "Bb3", "key_note = "),
    ),
    _settings(
        "temperament",
        lambda: (
            seeds.shipped("harp", "temperaments", "7-limit-second.toml"),
            b"cents_off_equal = [0, 2, -3, 4.5, -13.69, 0, 0, 1.96, 0, 0, 0, 0]\n",
        ),
        partial(parse_temperament, name="own"),
        later.temperament_taken,
        ("ratios", "5/4", "nan", "inf"),
    ),
    _settings(
        "notation",
        lambda: tuple(seeds.shipped("harp", "notations", f"{name}.toml") for name in ("sign", "letters-fr")),
        partial(parse_notation, name="own"),
        later.notation_taken,
        ("{holes}", "{inside}", "{marks}"),
        0.1,
    ),
    _settings("level", lambda: (seeds.LEVEL,), _player, later.player_taken),
    _settings("levels", lambda: (seeds.shipped("arrange", "levels.toml"),), parse_levels, _nothing),
    _settings("weights and convention", lambda: (seeds.shipped("arrange", "weights.toml"),), parse_weights, _nothing),
    _settings(
        "language",
        lambda: (seeds.shipped("wording", "fr.toml"),),
        lambda text: parse_catalogue(text, name="own", reference=load_catalogue("en")),
        later.language_taken,
        ("{count}", "{title}", "{", "}", "n in 2..4", "n mod 10 = 1"),
        0.1,
    ),
    said.SAID,
    *media.TARGETS,
    *shelves.TARGETS,
)


def target_of(name: str) -> Target:
    return next(target for target in TARGETS if target.name == name)

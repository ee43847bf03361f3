"""Inputs to begin with: small, honest, and each with much of what its format knows."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping
from fractions import Fraction
from functools import cache
from importlib.resources import files
from pathlib import Path

from reedpath.arrange import find_route
from reedpath.data import encode_json
from reedpath.harp import format_move, load_tuning, make_harp, notation_names, single_moves
from reedpath.jobs.folder_plans import MadeFile, MadeFiles
from reedpath.lesson import (
    Lesson,
    LessonOfPieces,
    MadeSteps,
    Piece,
    StepBlock,
    VariantKind,
    decode_steps,
    decode_whole_steps,
    encode_lesson,
    encode_lesson_of_pieces,
    format_steps,
    format_steps_of_pieces,
    make_lesson,
)
from reedpath.page import encode_musicxml
from reedpath.phrase import Event, Ornaments, Part, Phrase, Repeat, Tempo, encode_phrase
from reedpath.pitch import Key
from reedpath.sound import encode_midi
from reedpath.wording import load_catalogue

ROOT = Path(__file__).resolve().parents[2]

ABC = b"""%abc-2.0
X:1
T:Own
M:6/8
L:1/8
Q:3/8=90
P:A2B
m: ~n2 = n{o}n
U: W = !accent!
V:1 name="One"
V:2 clef=treble-8
K:D mix ^g transpose=2
P:A
[V:1]|:A>B{ag}c (3def [CE]2-|[CE]2 "Am"z2 !fine!~d2|1 Z2:|2 e2- e !D.C.!W^f & A6||
[V:2]D6|E3 _F3|
P:B
[M:4/4][L:1/4][K:Am]AB cd|[1,3 e4:|[2 f4|]
w:la la
"""
FRET_TAB = b"""Own solo
tuning: E A D G B E
key: A
tempo: 120
time: 4/4

e|------------------5---8p5------|-5b7r5---7/9--9\\7-|
B|----------5---8-------------8~-|----------------x--|
G|--5-7b9--------7---------------|-7h9p7-------------|
D|-------------------------------|------------------5|
A|-------------------------------|-(5)---------------|
E|-------------------------------|-------------------|
"""
HARMONICA_TAB = b"""title: Own blues
harp: Low F
key: C
tempo: 96
time: 12/8
tuning: standard

-2'' -2' 4 5 | -3''' 6o -7o  9' 10'' ||

4 5 6 -6 5 +4 | -4 (-4-5)
"""
SCALE = b"""! own.scl
own scale
 12
!
 76.04900
 9/8
 310.265
 5/4
 503.422
 579.471
 696.578
 25/16
 889.735
 1006.843
 1082.892
 2/1
"""
LEVEL = b"""draw_bends = [1, 2]
blow_bends = [1]
overblows = true
overdraws = false
splits = true
chords = true
move_factor = 1.0
time_factor = 1.2
spot_points = 2.8
rush_points = 0.8
"""


def example(name: str) -> bytes:
    return (ROOT / "examples" / name).read_bytes()


def shipped(room: str, *steps: str) -> bytes:
    """A data file of the program."""
    return (files(f"reedpath.{room}").joinpath(*steps)).read_bytes()


@cache
def phrase() -> Phrase:
    """A phrase with something of everything."""
    pitches = (64, 67, 69, 70, 72, 74, 76, 79)
    ornaments = (
        Ornaments(),
        Ornaments(bend_in=Fraction(1)),
        Ornaments(vibrato=True, accent=True),
        Ornaments(release=Fraction(1)),
        Ornaments(graces=(70,)),
        Ornaments(slide_from=72),
        Ornaments(slide_to=74),
        Ornaments(),
    )
    events = [
        Event(Fraction(index, 2), Fraction(1, 2), (midi,), ornament)
        for index, (midi, ornament) in enumerate(zip(pitches, ornaments, strict=True))
    ]
    events.append(Event(Fraction(4), Fraction(3), (67, 71), cents=(3.0, -4.0)))
    return Phrase(
        tuple(events),
        "Own",
        tempos=(Tempo(Fraction(0), 96.0), Tempo(Fraction(4), 80.0)),
        key=Key(9, "minor"),
        swing=Fraction(2),
        parts=(Part("A", Fraction(0), Fraction(4)),),
        repeats=(Repeat(Fraction(0), Fraction(4), 2),),
    )


@cache
def lesson() -> Lesson:
    return make_lesson(find_route(phrase(), make_harp("C")))


@cache
def steps() -> tuple[str, Mapping[str, tuple[StepBlock, ...]]]:
    """The steps of the lesson as they are made, in words and as data."""
    return format_steps(lesson()), decode_steps(encode_lesson(lesson()))


@cache
def pieces() -> LessonOfPieces:
    """A lesson of three pieces, two of them variants."""
    variants = (None, VariantKind.LEVEL, VariantKind.FILLER)
    return LessonOfPieces(
        "An evening",
        tuple(
            Piece(f"{place + 1}-own", lesson(), None if kind is None else 0, kind)
            for place, kind in enumerate(variants)
        ),
        play_through=(0,),
        notes={"en": "Listen first."},
    )


@cache
def pieces_steps() -> tuple[str, MadeSteps]:
    """Their steps as they are made, in words and as data."""
    made = decode_whole_steps(encode_lesson_of_pieces(pieces()))
    return format_steps_of_pieces(pieces()), MadeSteps(made, [steps()[1]] * len(pieces().pieces))


LESSON_PLAN = b"""title = "An evening"
note = ["Listen.", "fr:On entend."]
in-a-row = true

[[piece]]
source = "one.txt"
harp = "A"
tempo = 96
level = "easy, strong"

[[piece]]
source = "two.abc"
title = "Two"
filler-of = 1
pin = ["3=3"]
"""


@cache
def midi_files() -> tuple[bytes, ...]:
    made = encode_midi(lesson())
    head = b"MThd\0\0\0\6\0\1\0\2\x01\xe0"
    first = b"\0\xff\x51\3\7\xa1\x20\0\xff\x58\4\4\2\x18\x08\0\xff\x59\2\2\0\0\xff\x03\3Own\0\xff\x06\1A\0\xff\x2f\0"
    second = (
        b"\0\xff\x03\4Lead\0\xc0\x18\0\xb0\x65\0\0\xb0\x64\0\0\xb0\x06\x0c\0\x90\x3c\x50\x40\xe0\0\x50"
        b"\x60\x3c\0\x20\x90\x40\x50\x81\x70\x80\x40\0\0\x99\x24\x50\x60\x89\x24\0\0\xff\x2f\0"
    )
    tracks = b"".join(b"MTrk" + len(body).to_bytes(4, "big") + body for body in (first, second))
    return made, head + tracks


@cache
def scores() -> tuple[bytes, ...]:
    """MusicXML: the program's own, and one with repeats, voices and ornaments."""
    note = (
        "<note>{}<pitch><step>{}</step><alter>{}</alter><octave>{}</octave></pitch><duration>{}</duration>{}</note>"
    )
    measures = (
        "<attributes><divisions>4</divisions><key><fifths>2</fifths><mode>major</mode></key>"
        "<time><beats>4</beats><beat-type>4</beat-type></time><transpose><chromatic>-2</chromatic></transpose>"
        "</attributes><direction><sound tempo='96'/></direction>"
        "<barline location='left'><repeat direction='forward'/></barline>"
        + note.format("", "C", 1, 5, 4, "<tie type='start'/><voice>1</voice>")
        + note.format(
            "", "C", 1, 5, 4, "<tie type='stop'/><notations><ornaments><trill-mark/></ornaments></notations>"
        )
        + note.format("<chord/>", "E", 0, 5, 4, "")
        + note.format("<grace/>", "D", 0, 5, 0, "").replace("<duration>0</duration>", "")
        + note.format(
            "",
            "G",
            0,
            4,
            8,
            "<notations><technical><bend><bend-alter>2</bend-alter></bend></technical>"
            "<slide type='start'/></notations>",
        )
        + "<barline location='right'><ending number='1,2' type='stop'/>"
        "<repeat direction='backward' times='3'/></barline>",
        "<note><rest measure='yes'/><duration>16</duration></note><backup><duration>16</duration></backup>"
        "<forward><duration>8</duration></forward>"
        + note.format("", "A", 0, 4, 8, "<voice>2</voice>")
        + "<direction><direction-type><words>D.C. al Fine</words></direction-type><sound dacapo='yes'/></direction>",
    )
    body = "".join(f'<measure number="{index}">{one}</measure>' for index, one in enumerate(measures, start=1))
    text = (
        '<?xml version="1.0"?><score-partwise version="4.0"><work><work-title>Own</work-title></work><part-list>'
        '<score-part id="P1"><part-name>Lead</part-name><score-instrument id="I1"><instrument-sound>pluck.guitar'
        f'</instrument-sound></score-instrument></score-part></part-list><part id="P1">{body}</part></score-partwise>'
    )
    return text.encode(), encode_musicxml(lesson(), catalogue=load_catalogue("en"))


@cache
def packed_score() -> bytes:
    sink = io.BytesIO()
    box = '<container><rootfiles><rootfile full-path="score.xml"/></rootfiles></container>'
    with zipfile.ZipFile(sink, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("META-INF/container.xml", box)
        archive.writestr("score.xml", scores()[0])
    return sink.getvalue()


def phrases() -> tuple[bytes, ...]:
    return encode_phrase(phrase()), (ROOT / "tests" / "data" / "version_1" / "phrase.json").read_bytes()


def lessons() -> tuple[bytes, ...]:
    return encode_lesson(lesson()), (ROOT / "tests" / "data" / "version_1" / "lesson.json").read_bytes()


@cache
def tabs() -> tuple[bytes, ...]:
    """A line of moves in each notation."""
    moves = single_moves(load_tuning("standard"))[::3]
    return tuple(
        f"harp: C\ntempo: 90\n\n{' '.join(format_move(move, name) for move in moves)}\n".encode()
        for name in notation_names()
    )


def made_files() -> bytes:
    made = MadeFile("0" * 64, "lesson")
    return encode_json(MadeFiles(files={"tab.txt": made, "lesson.json": made, "bytes:ff00": made}))


PLAN = b'{"keep": {"steps.md": "steps.kept.md"}, "put": ["tab.txt", "steps.md"], "remove": ["old.wav"]}'

"""What is read of many sources, note by note, and why others are refused; all sources are invented.

A file of `kept` holds sources, each after a line "####" with its format and options, and under each, after ">", what
is read of it; of scores the measures. ``KEEP_TEXTS=1`` writes anew what stands after ">", so that a new case is its
source alone. MIDI files are built here.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from reedpath.errors import ReedpathError
from reedpath.errors.english import in_english
from reedpath.harp import format_move
from reedpath.phrase import Event, Phrase
from reedpath.pitch import midi_name
from reedpath.readers import DEFAULT_LIMITS, read_phrase
from reedpath.readers.harmonica_tab import typed_moves
from support.kept_texts import assert_kept
from support.written_sources import FIRST, measure, midi_file, note, score, struck, wheel

KEPT = Path(__file__).parent / "kept"


def told_event(one: Event) -> str:
    """A note in a line: only what is not as usual is told."""
    made = one.ornaments
    said = [str(one.onset), str(one.duration), "+".join(midi_name(midi) for midi in one.midi)]
    said += [f"{name} {getattr(made, name)}" for name in made.__struct_fields__ if getattr(made, name)]
    said += ["grace"] if one.grace else []
    said += [f"cents {one.cents}"] if any(one.cents) else []
    said += [f"fifths {one.fifths}"] if one.fifths else []
    return f"{' '.join(said)} @ {in_english(one.place)}"


def told_phrase(phrase: Phrase) -> Iterator[str]:
    """All that is read of a source."""
    key = "no key" if phrase.key is None else f"{phrase.key.tonic} {phrase.key.mode}"
    yield f"{phrase.title!r} {key} swing {phrase.swing} pickup {phrase.pickup}"
    yield f"metres {[f'{one.onset} {one.count}/{one.unit}' for one in phrase.metres]}"
    yield f"tempos {[f'{one.onset} {one.bpm:.4g}' for one in phrase.tempos]}"
    for part in phrase.parts:
        yield f"part {part.label!r} {part.onset} {part.end}"
    for repeat in phrase.repeats:
        yield f"repeat {repeat.onset} {repeat.end} {repeat.times}"
    for one in phrase.left_out:
        yield f"left out {one.kind} {one.count} {one.values} @ {in_english(one.place)}"
    yield from map(told_event, phrase.events)


def read(data: bytes, format: str, options: dict[str, str | int | bool]) -> list[str]:
    """What is read, or why it is not."""
    try:
        found = list(told_phrase(read_phrase(data, format=format, options=options)))
        if format == "harmonica-tab":
            typed = typed_moves(data, limits=DEFAULT_LIMITS, **options)  # type: ignore[arg-type]
            moves = " ".join(format_move(move, "sign") for move in typed.moves.values())
            found.append(f"typed {typed.harp.name} {typed.harp.tuning.name} {typed.notation}: {moves}")
        return found
    except ReedpathError as error:
        return [f"refused: {error}"]


def option(text: str) -> tuple[str, str | int | bool]:
    name, _, value = text.partition("=")
    return name, value == "True" if value in ("True", "False") else int(value) if value.isdecimal() else value


@pytest.mark.parametrize("name", ["abc", "fret-tab", "harmonica-tab", "musicxml"])
def test_typed_sources(name: str) -> None:
    path, told = KEPT / f"{name}.txt", []
    for block in path.read_text(encoding="utf-8").split("#### ")[1:]:
        head, _, rest = block.partition("\n")
        source = "\n".join(line for line in rest.splitlines() if not line.startswith("> ")).strip("\n")
        format, *options = head.split()
        if format == "musicxml":
            found = read(score(source, title=options[0]), format, dict(map(option, options[1:])))
        else:
            found = read(f"{source}\n".encode(), format, dict(map(option, options)))
        told += [f"#### {head}", source, *(f"> {line}" for line in found), ""]
    assert_kept(path, "\n".join(told))


def test_parts_and_voices_of_scores() -> None:
    told = []
    high = measure(note("C5", 16), "<backup><duration>16</duration></backup>", note("E4", 16, voice="2"))
    two = score(measure(note("C4", 16)), parts=[("Bass", measure(note("C2", 16), attributes=FIRST))])
    for options in (
        {"part": "Bass"},
        {"part": 2},
        {"part": "P2"},
        {"part": 9},
        {"voice": 1},
        {"staff": 2},
        {"track": 1},
    ):
        told += [f"# two parts {options}", *read(two, "musicxml", options)]
    for voice in (1, 2, 3):
        told += [f"# voice {voice}", *read(score(high), "musicxml", {"voice": voice})]
    for data in (
        b"<score-partwise/>",
        b"<html/>",
        b"<score-partwise><part id='P1'>",
        two.replace(b"score-partwise", b"score-timewise"),
    ):
        told += [f"# {data[:40]!r}", *read(data, "musicxml", {})]
    assert_kept(KEPT / "parts-of-scores.txt", "\n".join(told) + "\n")


def meta(tick: int, kind: int, content: bytes) -> tuple[int, int, int, bytes]:
    return (tick, 0xFF, kind, content)


def test_midi_files() -> None:
    tempo = (500_000).to_bytes(3, "big")
    head = [
        meta(0, 0x58, bytes((3, 2, 24, 8))),
        meta(0, 0x59, bytes((0xFE, 1))),
        meta(0, 0x51, tempo),
        meta(480, 0x51, (400_000).to_bytes(3, "big")),
    ]
    line = struck(60, 0, 470) + struck(64, 480, 700) + struck(64, 720, 960) + struck(67, 720, 960)
    named = [meta(0, 0x03, b"Lead (invented)"), *line]
    drums = struck(36, 0, 100, channel=9)
    bent = [
        wheel(0, 0),
        *struck(60, 0, 960),
        *(wheel(at / 4, 60 * at) for at in range(1, 9)),
        wheel(0, 960),
        *struck(62, 960, 1440),
    ]
    shaken = [*struck(60, 0, 1920), *(wheel(0.3 * (-1) ** at, 480 + 60 * at) for at in range(20)), wheel(0, 1900)]
    marks = [meta(0, 0x06, b"A"), meta(960, 0x06, b"B"), meta(0, 0x05, b"la"), *line]
    files = {
        "line": ([*head, *line],), "named": (head, named), "drums": (head, drums),
        "two": (head, named, struck(40, 0, 960)),
        "bent": (bent,), "shaken": (shaken,), "marks": (marks,),
        "together": (struck(60, 0, 480) + struck(60, 0, 240),),
        "never ends": ([(0, 0x90, 60, 80)],), "channels": (struck(60, 0, 480) + struck(64, 480, 960, channel=3),),
        "soft": ([(0, 0x90, 60, 1), (480, 0x90, 60, 0), (480, 0x90, 62, 127), (960, 0x80, 62, 64)],), "empty": ([],),
        "program": ([(0, 0xC0, 22), (0, 0xB0, 64, 127), *line, (1000, 0xB0, 64, 0)],),
        "pedal": ([(0, 0xB0, 64, 127), *struck(60, 0, 240), *struck(64, 480, 600), (900, 0xB0, 64, 0)],),
    }  # fmt: skip
    told = []
    for name, tracks in files.items():
        told += [f"# {name}", *read(midi_file(*tracks), "midi", {})]  # type: ignore[arg-type]
    for options in (
        {"part": 3},
        {"part": "Lead (invented)"},
        {"track": 2},
        {"track": 9},
        {"channel": 4},
        {"channel": 17},
        {"tune": 1},
    ):
        told += [f"# two {options}", *read(midi_file(head, named, struck(40, 0, 960)), "midi", options)]
    told += ["# of one track", *read(midi_file([*head, *line], form=0, division=96), "midi", {})]
    whole = midi_file(head, named)
    for size in (0, 4, 13, 20, len(whole) - 3, len(whole) - 30):
        told += [f"# {size} bytes", *read(whole[:size], "midi", {})]
    for at, value in ((9, 2), (12, 0xE7), (14, 0x4E)):
        told += [f"# byte {at} {value}", *read(whole[:at] + bytes((value,)) + whole[at + 1 :], "midi", {})]
    assert_kept(KEPT / "midi.txt", "\n".join(told) + "\n")

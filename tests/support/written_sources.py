"""Sources written for tests: MusicXML measures and MIDI tracks from a few words.

score(measure(note("C4", 4), note("E4", 4, chord=True)))          MusicXML bytes
midi_file([(0, 0x90, 60, 80), (480, 0x80, 60, 0)])                MIDI bytes
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

FIRST = "<divisions>4</divisions><time><beats>4</beats><beat-type>4</beat-type></time>"


def note(
    name: str,
    duration: int | str,
    *,
    notations: str = "",
    inside: str = "",
    voice: str = "1",
    chord: bool = False,
    tie: str = "",
    tail: str = "",
) -> str:
    """A <note>: ``name`` like C4, Bb3, F#5 or r for a rest; ``inside`` before, ``tail`` after its duration."""
    match = re.fullmatch(r"([A-G])([#b]?)(\d)", name)
    alter = {"#": "<alter>1</alter>", "b": "<alter>-1</alter>"}.get(match[2], "") if match else ""
    pitch = f"<pitch><step>{match[1]}</step>{alter}<octave>{match[3]}</octave></pitch>" if match else "<rest/>"
    ties = "".join(f'<tie type="{kind}"/>' for kind in tie.split())
    length = f"<duration>{duration}</duration>" if duration else ""
    body = f"{inside}{'<chord/>' if chord else ''}{pitch}{length}{ties}<voice>{voice}</voice>{tail}"
    return f"<note>{body}{f'<notations>{notations}</notations>' if notations else ''}</note>"


def measure(*elements: str, attributes: str = "", number: int | str = 1) -> str:
    """A <measure>; the first one of a score is given 4/4 in quarters of four divisions."""
    begin = f"<attributes>{attributes}</attributes>" if attributes else ""
    return f'<measure number="{number}">{begin}{"".join(elements)}</measure>'


def score(
    *measures: str, first: str = FIRST, parts: Sequence[tuple[str, str]] = (), title: str = "", sound: str = ""
) -> bytes:
    """A partwise score of one part of these measures, with ``parts`` (name, measures) after it.

    sound : the instrument sound of the first part.
    """
    named = [("Lead", "<measure number='0'/>"), *parts]
    instrument = f"<score-instrument><instrument-sound>{sound}</instrument-sound></score-instrument>" if sound else ""
    listed = "".join(
        f'<score-part id="P{number}"><part-name>{name}</part-name>{instrument if number == 1 else ""}</score-part>'
        for number, (name, _) in enumerate(named, start=1)
    )
    body = "".join(measures).replace(">", f"><attributes>{first}</attributes>", 1)
    bodies = [body, *(content for _, content in parts)]
    written = "".join(f'<part id="P{number}">{content}</part>' for number, content in enumerate(bodies, start=1))
    work = f"<work><work-title>{title}</work-title></work>" if title else ""
    text = f'<?xml version="1.0"?><score-partwise version="4.0">{work}<part-list>{listed}</part-list>{written}'
    return f"{text}</score-partwise>".encode()


def barline(*, repeat: str = "", times: int = 0, ending: str = "", kind: str = "", location: str = "right") -> str:
    """A <barline>: repeat forward or backward, an ending's number and kind (start, stop, discontinue)."""
    played = f' times="{times}"' if times else ""
    inside = f'<ending number="{ending}" type="{kind}"/>' if ending else ""
    inside += f'<repeat direction="{repeat}"{played}/>' if repeat else ""
    return f'<barline location="{location}">{inside}</barline>'


def _quantity(value: int) -> bytes:
    parts = [value & 0x7F]
    while value := value >> 7:
        parts.append(value & 0x7F | 0x80)
    return bytes(reversed(parts))


def midi_track(messages: Iterable[tuple[int, ...] | tuple[int, int, int, bytes]]) -> bytes:
    """A track chunk of messages (tick, status, data bytes ...); a meta event is (tick, 0xFF, kind, bytes)."""
    body, last = b"", 0
    for tick, status, *data in sorted(messages, key=lambda message: message[0]):
        body += _quantity(tick - last) + bytes((status,))
        if status == 0xFF:
            kind, content = data
            body += bytes((kind,)) + _quantity(len(content)) + content
        else:
            body += bytes(data)
        last = tick
    body += b"\x00\xff\x2f\x00"
    return b"MTrk" + len(body).to_bytes(4, "big") + body


def midi_file(*tracks: Iterable[tuple[int, ...]], form: int = 1, division: int = 480) -> bytes:
    """A MIDI file of these tracks."""
    header = (6).to_bytes(4, "big") + b"".join(part.to_bytes(2, "big") for part in (form, len(tracks), division))
    return b"MThd" + header + b"".join(midi_track(track) for track in tracks)


def struck(midi: int, start: int, end: int, *, channel: int = 0) -> list[tuple[int, ...]]:
    """Messages of one note from tick to tick."""
    return [(start, 0x90 | channel, midi, 80), (end, 0x80 | channel, midi, 0)]


def wheel(semitones: float, tick: int, *, channel: int = 0, span: float = 2) -> tuple[int, ...]:
    """A message that sets the pitch wheel, whose range is ``span`` semitones."""
    value = max(0, min(16383, 8192 + round(semitones / span * 8192)))
    return (tick, 0xE0 | channel, value & 0x7F, value >> 7)

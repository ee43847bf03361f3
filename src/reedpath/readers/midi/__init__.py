"""Standard MIDI Files of format 0 and 1 (MMA, 1996).

The file is taken apart with a check of every byte (`chunks`), so that a wrong one is named by its byte; a track or
channel is chosen and its notes are paired with their ends (`choosing`), and bent as the pitch wheel bends them
(`wheel`). Times are exact: ticks over ticks of a quarter note.

Options: ``part`` or ``track`` (a track: its name, or its number from 1), ``channel`` (1 to 16).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from reedpath.errors import Place, ReadError
from reedpath.phrase import COMMON_TIME, Metre, Ornaments, Part, Phrase, Tempo
from reedpath.pitch import Key
from reedpath.readers.bars import Note, parts_between
from reedpath.readers.limits import FASTEST_BPM, SLOWEST_BPM, Limits
from reedpath.readers.midi.choosing import Source, choose_sources, paired_notes, sources_of
from reedpath.readers.midi.chunks import MidiFile, MidiMessage, decode_meta, parse_midi_file
from reedpath.readers.midi.wheel import bent_between, wheel_of
from reedpath.readers.omissions import Omissions
from reedpath.readers.registry import Option, Reader
from reedpath.readers.ties_and_bends import sounding_events

__all__ = ["READER", "read_midi", "sniff_midi"]

# kinds of meta events; Standard MIDI Files 1.0
_TRACK_NAME, _LYRIC, _MARKER, _CUE, _TEMPO, _METRE, _KEY = 0x03, 0x05, 0x06, 0x07, 0x51, 0x58, 0x59
_CONDUCTED = {_TEMPO: 3, _METRE: 4, _KEY: 2}
# controllers whose effect a phrase does not hold; MIDI 1.0
_PEDAL, _MODULATION = 64, 1
# of the beat that an event's place names; ours
_BEAT_DECIMALS = 3
# steps of the circle of fifths to the tonic of a minor key, from the major one; common practice, no source
_MINOR = 9


def sniff_midi(data: bytes) -> float:
    """How sure it is that a source is a MIDI file: its first bytes say so."""
    wrapped = data[:4] == b"RIFF" and data[8:12] == b"RMID"
    return 1.0 if data[:4] == b"MThd" or wrapped else 0.0


def _conductor(file: MidiFile, omissions: Omissions) -> list[MidiMessage]:
    """Tempos and signatures of all tracks, in order; what is not well formed is left out."""
    kept = []
    for track in file.tracks:
        for message in track.messages:
            if message.status != 0xFF or message.kind not in _CONDUCTED:
                continue
            if len(message.data) == _CONDUCTED[message.kind] and _is_sound(message):
                kept.append(message)
            else:
                omissions.note("strange-signatures", Place(byte=message.at))
    return sorted(kept, key=lambda message: message.tick)


def _is_sound(message: MidiMessage) -> bool:
    if message.kind == _TEMPO:
        micros = int.from_bytes(message.data, "big")
        return micros > 0 and SLOWEST_BPM <= 60e6 / micros <= FASTEST_BPM
    if message.kind == _METRE:
        return message.data[0] > 0 and message.data[1] <= 6
    fifths = int.from_bytes(message.data[:1], "big", signed=True)
    return -7 <= fifths <= 7 and message.data[1] in (0, 1)


def _notes(file: MidiFile, source: Source, omissions: Omissions) -> Iterable[Note]:
    """Notes of one channel, bent as its pitch wheel bends them."""
    track = file.tracks[source.track]
    wheel = wheel_of(message for message in track.messages if message.channel == source.channel)
    paired, hanging = paired_notes(track, source.channel)
    if hanging:
        omissions.note("notes-never-let-go", Place(track=source.track + 1), count=hanging)
    for start, end, pitch in paired:
        if end == start:
            omissions.note("notes-without-duration", Place(track=source.track + 1, channel=source.channel + 1))
            continue
        bent = bent_between(wheel, start, end)
        onset = Fraction(start, file.ticks)
        yield Note(
            onset,
            Fraction(end - start, file.ticks),
            pitch,
            ornaments=Ornaments(vibrato=bent.vibrato),
            pre_bend=bent.start,
            bends=bent.steps,
            place=Place(beat=round(float(onset) + 1, _BEAT_DECIMALS)),
        )


def _note_omissions(file: MidiFile, source: Source, omissions: Omissions) -> None:
    place = Place(track=source.track + 1)
    for message in file.tracks[source.track].messages:
        if message.channel == source.channel and message.command == 0xB:
            number, value = message.data
            if number == _PEDAL and value >= 64:
                omissions.note("pedal", place)
            elif number == _MODULATION and value:
                omissions.note("modulation", place)
        elif message.status == 0xFF and message.kind == _LYRIC:
            omissions.note("lyrics", place)


def _parts(file: MidiFile, end: Fraction) -> tuple[Part, ...]:
    """Markers and cue points as parts, each up to the next."""
    found = sorted(
        (Fraction(message.tick, file.ticks), decode_meta(message.data))
        for track in file.tracks
        for message in track.messages
        if message.status == 0xFF and message.kind in (_MARKER, _CUE) and decode_meta(message.data)
    )
    return parts_between(found, end)


def _metres(conductor: Iterable[MidiMessage], ticks: int) -> tuple[Metre, ...]:
    metres: list[Metre] = []
    for message in conductor:
        if message.kind != _METRE:
            continue
        onset, count, unit = Fraction(message.tick, ticks), message.data[0], 2 ** message.data[1]
        if metres and metres[-1].onset == onset:
            metres.pop()
        if not metres or metres[-1].signature != (count, unit):
            metres.append(Metre(onset, count, unit))
    if metres and metres[0].onset > 0:
        metres.insert(0, COMMON_TIME)  # the default of Standard MIDI Files 1.0
    return tuple(metres)


def _tempos(conductor: Iterable[MidiMessage], ticks: int) -> tuple[Tempo, ...]:
    tempos: list[Tempo] = []
    for message in conductor:
        if message.kind != _TEMPO:
            continue
        onset, bpm = Fraction(message.tick, ticks), round(60e6 / int.from_bytes(message.data, "big"), 3)
        if tempos and tempos[-1].onset == onset:
            tempos.pop()
        if not tempos or tempos[-1].bpm != bpm:
            tempos.append(Tempo(onset, bpm))
    if tempos and tempos[0].onset > 0:
        tempos.insert(0, Tempo(Fraction(0), 120.0))  # the default of Standard MIDI Files 1.0
    return tuple(tempos)


def _key(conductor: Iterable[MidiMessage], omissions: Omissions) -> Key | None:
    found = [message.data for message in conductor if message.kind == _KEY]
    if not found:
        return None
    if len(set(found)) > 1:
        omissions.note("key-changes")
    fifths, minor = int.from_bytes(found[0][:1], "big", signed=True), bool(found[0][1])
    return Key((fifths * 7 + (_MINOR if minor else 0)) % 12, "minor" if minor else "major")


def _title(file: MidiFile, there_are: Sequence[Source], chosen: Sequence[Source]) -> str:
    """The name of the first track, which names the whole file; "" where it names a part that is not read (drums)."""
    if not file.tracks:
        return ""
    of_first = [source for source in there_are if source.track == 0]
    names_other_part = file.form == 1 and of_first and not any(source in chosen for source in of_first)
    return "" if names_other_part else file.tracks[0].text(_TRACK_NAME)


def read_midi(
    data: bytes,
    /,
    *,
    limits: Limits,
    part: Option | None = None,
    track: Option | None = None,
    channel: Option | None = None,
) -> Phrase:
    """The phrase of one part of a MIDI file; see the module for the options.

    Raises `ReadError`, naming the byte where the file is wrong, or the parts there are when the one asked for is not.
    """
    limits.check_size(data)
    file = parse_midi_file(data, limits=limits)
    omissions = Omissions()
    named = part if part is not None else track
    sources = choose_sources(sources_of(file), part=named, channel=channel, form=file.form, omissions=omissions)
    limits.check("events", sum(source.notes for source in sources), what="notes")
    conductor = _conductor(file, omissions)
    notes: list[Note] = []
    for source in sources:
        notes += _notes(file, source, omissions)
        _note_omissions(file, source, omissions)
    title = _title(file, sources_of(file), sources)
    if not sources:
        return Phrase((), title=title, left_out=omissions.left_out())
    events = sounding_events(notes, omissions)
    end = max((event.end for event in events), default=Fraction(0))
    if end > 4 * limits.bars:
        raise ReadError("readers.too_long", beats=round(end), most=4 * limits.bars)
    return Phrase(
        events,
        title=title,
        metres=_metres(conductor, file.ticks),
        tempos=_tempos(conductor, file.ticks),
        key=_key(conductor, omissions),
        parts=_parts(file, end),
        left_out=omissions.left_out(),
    )


READER = Reader(
    name="midi",
    title="Standard MIDI",
    suffixes=(".mid", ".midi", ".smf", ".rmi", ".kar"),
    sniff=sniff_midi,
    read=read_midi,
    options={
        "part": "name or number of the track",
        "track": "the same",
        "channel": "channel, 1 to 16",
    },
)

"""Choosing: which track and channels of a MIDI file are read, and the file written anew with only those."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from reedpath.errors import ReadError
from reedpath.readers.midi.chunks import Message, MidiFile
from reedpath.readers.omissions import Omissions
from reedpath.readers.registry import Option

__all__ = ["Source", "choose_sources", "encode_notes", "paired_notes", "sources_of"]

# channel of drums, from 0; General MIDI 1 (channel 10)
_DRUMS = 9
_TRACK_NAME = 0x03


@dataclass(frozen=True, slots=True)
class Source:
    """The notes of one channel in one track.

    track : index; name : of the track, empty when it has none.
    notes : how many begin.
    """

    track: int
    name: str
    channel: int
    notes: int

    @property
    def title(self) -> str:
        """What it is called in messages; tracks and channels are counted from 1, as players count them."""
        return self.name or f"track {self.track + 1}, channel {self.channel + 1}"


def _begins(message: Message) -> bool:
    return message.command == 0x9 and message.data[1] > 0


def sources_of(file: MidiFile) -> list[Source]:
    """Channels that hold notes, by track and channel."""
    sources = []
    for index, track in enumerate(file.tracks):
        counts: dict[int, int] = {}
        for message in track.messages:
            if _begins(message):
                counts[message.channel] = counts.get(message.channel, 0) + 1
        name = track.text(_TRACK_NAME) if file.form == 1 else ""
        sources += [Source(index, name, channel, counts[channel]) for channel in sorted(counts)]
    return sources


def _is_track(source: Source, part: Option) -> bool:
    text = str(part).strip()
    return source.name == text or (text.isdecimal() and source.track + 1 == int(text[:9]))


def _channel_number(channel: Option) -> int:
    text = str(channel).strip()
    if not (text.isdecimal() and 1 <= int(text[:9]) <= 16):
        raise ReadError(f"no channel {channel!r}, of 1 to 16")
    return int(text[:9]) - 1


def _leave_out(source: Source, omissions: Omissions) -> None:
    if source.channel == _DRUMS:
        omissions.note("drums", count=source.notes)
    elif source.name:
        omissions.note("part", count=source.notes, name=source.name)
    else:
        omissions.note("channel", count=source.notes, track=str(source.track + 1), channel=str(source.channel + 1))


def choose_sources(
    sources: Sequence[Source], *, part: Option | None, channel: Option | None, form: int, omissions: Omissions
) -> list[Source]:
    """The sources to read; the others go to the omissions.

    Without options: the first track that holds notes other than drums, with all its channels (a guitar often has
    one for each string); in a file of format 0, which has one track, the first such channel.
    """
    fitting = [source for source in sources if part is None or _is_track(source, part)]
    if channel is not None:
        number = _channel_number(channel)
        fitting = [source for source in fitting if source.channel == number]
    else:
        fitting = [source for source in fitting if source.channel != _DRUMS]
    if not fitting and (part is not None or channel is not None):
        raise ReadError(
            "no notes in the part or channel that was chosen",
            hint="there are: " + "; ".join(f"{source.title} ({source.notes} notes)" for source in sources[:20]),
        )
    chosen = [source for source in fitting if source.track == fitting[0].track]
    if form == 0 and channel is None:
        chosen = chosen[:1]
    for source in sources:
        if source not in chosen:
            _leave_out(source, omissions)
    return chosen


def _quantity(value: int) -> bytes:
    parts = [value & 0x7F]
    while value := value >> 7:
        parts.append(value & 0x7F | 0x80)
    return bytes(reversed(parts))


def _encode_track(messages: Iterable[Message]) -> bytes:
    body, tick = bytearray(), 0
    for message in messages:
        body += _quantity(message.tick - tick)
        body.append(message.status)
        if message.status == 0xFF:
            body.append(message.kind)
            body += _quantity(len(message.data))
        body += message.data
        tick = message.tick
    body += b"\x00\xff\x2f\x00"
    return b"MTrk" + len(body).to_bytes(4, "big") + body


def paired_notes(file: MidiFile, source: Source) -> tuple[list[Message], int]:
    """Note messages of a source such that every note that begins ends, and how many were never let go.

    Those end with their track. A note let go at the very tick before it is struck, as some writers order a note
    without duration, is put in order; other messages that let go of nothing are dropped.
    """
    track = file.tracks[source.track]
    paired: list[Message] = []
    held: dict[int, int] = {}
    let_go: dict[int, Message] = {}
    for message in track.messages:
        if message.channel != source.channel or message.command not in (0x8, 0x9):
            continue
        pitch = message.data[0]
        if not _begins(message):
            if not held.get(pitch):
                let_go[pitch] = message
                continue
            held[pitch] -= 1
            paired.append(message)
            continue
        paired.append(message)
        early = let_go.pop(pitch, None)
        if early is not None and early.tick == message.tick:
            paired.append(early)
        else:
            held[pitch] = held.get(pitch, 0) + 1
    for pitch, count in held.items():
        paired += [Message(track.end, 0x80 | source.channel, 0, bytes((pitch, 0)), -1)] * count
    return paired, sum(held.values())


def encode_notes(file: MidiFile, notes: Iterable[Message], *, conductor: Iterable[Message]) -> bytes:
    """A MIDI file of format 1 with the conductor's meta events and these notes."""
    tracks = [_encode_track(conductor), _encode_track(notes)]
    header = b"MThd" + (6).to_bytes(4, "big") + (1).to_bytes(2, "big") + (2).to_bytes(2, "big")
    return header + file.ticks.to_bytes(2, "big") + b"".join(tracks)

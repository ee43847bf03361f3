"""Chunks: a Standard MIDI File taken apart byte by byte, so that a wrong one is named by its byte.

Source: Standard MIDI Files 1.0 (MMA, 1996). No length that a file names is trusted.
"""

from __future__ import annotations

from dataclasses import dataclass

from reedpath.errors import ReadError
from reedpath.readers.limits import Limits

__all__ = ["Message", "MidiFile", "Track", "parse_midi_file"]

# bytes of a variable-length quantity; Standard MIDI Files 1.0
_LONGEST_QUANTITY = 4
# data bytes of channel messages by the upper half of their status, 0x8 to 0xE; MIDI 1.0
_DATA_BYTES = {0x8: 2, 0x9: 2, 0xA: 2, 0xB: 2, 0xC: 1, 0xD: 1, 0xE: 2}
# ticks of the longest track; what one variable-length quantity holds
_MOST_TICKS = 0x0FFF_FFFF
_END_OF_TRACK = 0x2F


@dataclass(frozen=True, slots=True)
class Message:
    """One message.

    tick : since the beginning.
    status : 0x80 to 0xEF for a channel message; 0xFF for a meta event.
    kind : of a meta event; 0 for a channel message.
    data : its data bytes.
    at : byte of the file where it stands.
    """

    tick: int
    status: int
    kind: int
    data: bytes
    at: int

    @property
    def channel(self) -> int:
        """Channel from 0 to 15; -1 for a meta event."""
        return self.status & 0x0F if self.status < 0xF0 else -1

    @property
    def command(self) -> int:
        """Upper half of the status."""
        return self.status >> 4


@dataclass(frozen=True, slots=True)
class Track:
    """One track: its messages in order, and the tick where it ends."""

    messages: tuple[Message, ...]
    end: int

    def text(self, kind: int) -> str:
        """Text of its first meta event of a kind, empty when there is none."""
        found = next((each.data for each in self.messages if each.status == 0xFF and each.kind == kind), b"")
        return decode_meta(found)


@dataclass(frozen=True, slots=True)
class MidiFile:
    """A file.

    ticks : of a quarter note.
    tracks : in order; a file of format 0 has one.
    """

    form: int
    ticks: int
    tracks: tuple[Track, ...]


def decode_meta(data: bytes) -> str:
    """Text of a meta event: UTF-8 where it is that, else Latin-1."""
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        text = data.decode("latin-1")
    return "".join(sign for sign in text if sign.isprintable()).strip()[:200]


class _Bytes:
    """A finger on the bytes of a chunk."""

    def __init__(self, data: bytes, at: int, end: int) -> None:
        self.data, self.at, self.end = data, at, end

    def byte(self) -> int:
        if self.at >= self.end:
            raise ReadError("the track breaks off inside a message", where=f"byte {self.at}")
        self.at += 1
        return self.data[self.at - 1]

    def take(self, count: int, what: str) -> bytes:
        if count > self.end - self.at:
            raise ReadError(
                f"{what} of {count:,} bytes in a track that has {self.end - self.at:,} left", where=f"byte {self.at}"
            )
        self.at += count
        return self.data[self.at - count : self.at]

    def quantity(self) -> int:
        """A variable-length quantity."""
        start, value = self.at, 0
        for _ in range(_LONGEST_QUANTITY):
            byte = self.byte()
            value = value << 7 | byte & 0x7F
            if byte < 0x80:
                return value
        raise ReadError(f"a number of over {_LONGEST_QUANTITY} bytes", where=f"byte {start}")


def _channel_data(finger: _Bytes, status: int) -> bytes:
    start = finger.at
    data = finger.take(_DATA_BYTES[status >> 4], "a message")
    if any(byte > 0x7F for byte in data):
        raise ReadError(f"a data byte over 127 after status {status:#04x}", where=f"byte {start}")
    return data


def _next_message(finger: _Bytes, tick: int, running: int) -> tuple[Message | None, int]:
    """The next message (None for one of the system that says nothing of music) and the running status."""
    at = finger.at
    status = finger.byte()
    if status < 0x80:
        if not running:
            raise ReadError(f"a data byte {status:#04x} where a message must begin", where=f"byte {at}")
        finger.at -= 1
        return Message(tick, running, 0, _channel_data(finger, running), at), running
    if status < 0xF0:
        return Message(tick, status, 0, _channel_data(finger, status), at), status
    if status == 0xFF:
        kind = finger.byte()
        return Message(tick, 0xFF, kind, finger.take(finger.quantity(), "a meta event"), at), running
    if status in (0xF0, 0xF7):
        finger.take(finger.quantity(), "a system message")
        return None, running
    raise ReadError(f"a status {status:#04x} that no file may hold", where=f"byte {at}")


def _track(data: bytes, at: int, end: int, *, limits: Limits, before: int) -> Track:
    finger = _Bytes(data, at, end)
    messages: list[Message] = []
    tick = running = count = 0
    while finger.at < end:
        tick += finger.quantity()
        if tick > _MOST_TICKS:
            raise ReadError(f"a track of over {_MOST_TICKS:,} ticks", where=f"byte {finger.at}")
        message, running = _next_message(finger, tick, running)
        count += 1
        limits.check("elements", before + count, what="messages", where=f"byte {finger.at}")
        if message is None:
            continue
        if message.status == 0xFF and message.kind == _END_OF_TRACK:
            break
        messages.append(message)
    return Track(tuple(messages), tick)


def _unwrapped(data: bytes) -> tuple[int, int]:
    """First and last byte of the MIDI file in a source that may wrap it in RIFF."""
    if data[:4] == b"RIFF" and data[8:16] == b"RMIDdata" and len(data) >= 20:
        size = int.from_bytes(data[16:20], "little")
        return 20, min(len(data), 20 + size)
    return 0, len(data)


def _header(data: bytes, start: int, end: int) -> tuple[int, int, int, int]:
    """Format, number of tracks, ticks of a quarter note, and the byte after the header."""
    if data[start : start + 4] != b"MThd":
        raise ReadError("no MIDI file: it does not begin with MThd", where=f"byte {start}")
    if end - start < 14:
        raise ReadError("the header breaks off", where=f"byte {end}")
    size = int.from_bytes(data[start + 4 : start + 8], "big")
    if size < 6 or size > end - start - 8:
        raise ReadError(
            f"a header of {size:,} bytes, of 6 at least and what the file holds at most", where=f"byte {start + 4}"
        )
    form, count, division = (int.from_bytes(data[at : at + 2], "big") for at in range(start + 8, start + 14, 2))
    if form not in (0, 1):
        raise ReadError(
            f"a MIDI file of format {form}, of 0 and 1 that can be read",
            where=f"byte {start + 8}",
            hint="save the pattern that you want as format 1",
        )
    if division & 0x8000:
        raise ReadError(
            "time in frames of film (SMPTE), which says nothing of beats",
            where=f"byte {start + 12}",
            hint="save the file with ticks per quarter note",
        )
    if not division:
        raise ReadError("0 ticks in a quarter note, of 1 to 32,767 allowed", where=f"byte {start + 12}")
    return form, count, division, start + 8 + size


def parse_midi_file(data: bytes, *, limits: Limits) -> MidiFile:
    """Take a Standard MIDI File apart.

    Raises
    ------
    ReadError
        Naming the byte where the file is wrong, breaks off or lies about its lengths.
    """
    start, end = _unwrapped(data)
    form, count, ticks, at = _header(data, start, end)
    tracks: list[Track] = []
    messages = 0
    while len(tracks) < count:
        if at + 8 > end:
            raise ReadError(f"{len(tracks)} tracks, where the header says {count}", where=f"byte {at}")
        size = int.from_bytes(data[at + 4 : at + 8], "big")
        if size > end - at - 8:
            left = end - at - 8
            raise ReadError(f"a chunk of {size:,} bytes in a file that has {left:,} left", where=f"byte {at + 4}")
        if data[at : at + 4] == b"MTrk":
            tracks.append(_track(data, at + 8, at + 8 + size, limits=limits, before=messages))
            messages += len(tracks[-1].messages)
        at += 8 + size
    return MidiFile(form, ticks, tuple(tracks))

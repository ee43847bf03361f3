"""Chunks: a Standard MIDI File taken apart byte by byte, so that a wrong one is named by its byte.

Source: Standard MIDI Files 1.0 (MMA, 1996). No length that a file names is trusted.
"""

from __future__ import annotations

from msgspec import Struct

from reedpath.errors import Place, ReadError, Term, clean_text
from reedpath.readers.limits import Limits

# bytes of a variable-length quantity; Standard MIDI Files 1.0
_LONGEST_QUANTITY = 4
# data bytes of channel messages by the upper half of their status, 0x8 to 0xE; MIDI 1.0
_DATA_BYTES = {0x8: 2, 0x9: 2, 0xA: 2, 0xB: 2, 0xC: 1, 0xD: 1, 0xE: 2}
# ticks of the longest track; what one variable-length quantity holds
_MOST_TICKS = 0x0FFF_FFFF
_END_OF_TRACK = 0x2F


class MidiMessage(Struct, frozen=True):
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


class MidiTrack(Struct, frozen=True):
    """One track: its messages in order, and the tick where it ends."""

    messages: tuple[MidiMessage, ...]
    end: int

    def text(self, kind: int) -> str:
        """Text of its first meta event of a kind, empty when there is none."""
        found = next((each.data for each in self.messages if each.status == 0xFF and each.kind == kind), b"")
        return decode_meta(found)


class MidiFile(Struct, frozen=True):
    """A file.

    ticks : of a quarter note.
    tracks : in order; a file of format 0 has one.
    """

    form: int
    ticks: int
    tracks: tuple[MidiTrack, ...]


def decode_meta(data: bytes) -> str:
    """Text of a meta event: UTF-8 where it is that, else Latin-1."""
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        text = data.decode("latin-1")
    return clean_text(text[:1000]).strip()[:200]


class _Bytes:
    """The bytes of a chunk, read one after another."""

    def __init__(self, data: bytes, at: int, end: int) -> None:
        self.data, self.at, self.end = data, at, end

    def byte(self) -> int:
        if self.at >= self.end:
            raise ReadError("readers.track_breaks_off", where=Place(byte=self.at))
        self.at += 1
        return self.data[self.at - 1]

    def take(self, count: int, what: str) -> bytes:
        if count > self.end - self.at:
            left = self.end - self.at
            raise ReadError(
                "readers.past_end_of_track", where=Place(byte=self.at), what=Term(what), count=count, left=left
            )
        self.at += count
        return self.data[self.at - count : self.at]

    def quantity(self) -> int:
        """A variable-length quantity."""
        start, value = self.at, 0
        if start < self.end and self.data[start] < 0x80:  # most have one byte
            self.at += 1
            return self.data[start]
        for _ in range(_LONGEST_QUANTITY):
            byte = self.byte()
            value = value << 7 | byte & 0x7F
            if byte < 0x80:
                return value
        raise ReadError("readers.number_too_long", where=Place(byte=start), most=_LONGEST_QUANTITY)


def _channel_data(chunk: _Bytes, status: int) -> bytes:
    start = chunk.at
    data = chunk.take(_DATA_BYTES[status >> 4], "midi-message")
    if not data.isascii():
        raise ReadError("readers.data_byte_too_high", where=Place(byte=start), status=hex(status))
    return data


def _next_message(chunk: _Bytes, tick: int, running: int) -> tuple[MidiMessage | None, int]:
    """The next message (None for one of the system that says nothing of music) and the running status."""
    at = chunk.at
    status = chunk.byte()
    if status < 0x80:
        if not running:
            raise ReadError("readers.no_message", where=Place(byte=at), found=f"{status:#04x}")
        chunk.at -= 1
        return MidiMessage(tick, running, 0, _channel_data(chunk, running), at), running
    if status < 0xF0:
        return MidiMessage(tick, status, 0, _channel_data(chunk, status), at), status
    if status == 0xFF:
        kind = chunk.byte()
        return MidiMessage(tick, 0xFF, kind, chunk.take(chunk.quantity(), "meta-event"), at), running
    if status in (0xF0, 0xF7):
        chunk.take(chunk.quantity(), "system-message")
        return None, running
    raise ReadError("readers.no_such_status", where=Place(byte=at), status=hex(status))


def _track(data: bytes, at: int, end: int, *, limits: Limits, before: int) -> MidiTrack:
    chunk = _Bytes(data, at, end)
    messages: list[MidiMessage] = []
    tick = running = count = 0
    while chunk.at < end:
        tick += chunk.quantity()
        if tick > _MOST_TICKS:
            raise ReadError("readers.track_too_long", where=Place(byte=chunk.at), most=_MOST_TICKS)
        message, running = _next_message(chunk, tick, running)
        count += 1
        if before + count > limits.elements:
            limits.check("elements", before + count, what="midi-messages", where=Place(byte=chunk.at))
        if message is None:
            continue
        if message.status == 0xFF and message.kind == _END_OF_TRACK:
            break
        messages.append(message)
    return MidiTrack(tuple(messages), tick)


def _unwrapped(data: bytes) -> tuple[int, int]:
    """First and last byte of the MIDI file in a source that may wrap it in RIFF."""
    if data[:4] == b"RIFF" and data[8:16] == b"RMIDdata" and len(data) >= 20:
        size = int.from_bytes(data[16:20], "little")
        return 20, min(len(data), 20 + size)
    return 0, len(data)


def _header(data: bytes, start: int, end: int) -> tuple[int, int, int, int]:
    """Format, number of tracks, ticks of a quarter note, and the byte after the header."""
    if data[start : start + 4] != b"MThd":
        raise ReadError("readers.no_midi_file", where=Place(byte=start))
    if end - start < 14:
        raise ReadError("readers.header_breaks_off", where=Place(byte=end))
    size = int.from_bytes(data[start + 4 : start + 8], "big")
    if size < 6 or size > end - start - 8:
        raise ReadError("readers.wrong_header", where=Place(byte=start + 4), count=size)
    form, count, division = (int.from_bytes(data[at : at + 2], "big") for at in range(start + 8, start + 14, 2))
    if form not in (0, 1):
        raise ReadError("readers.other_midi_format", where=Place(byte=start + 8), number=form)
    if division & 0x8000:
        raise ReadError("readers.time_in_frames", where=Place(byte=start + 12))
    if not division:
        raise ReadError("readers.no_ticks", where=Place(byte=start + 12))
    return form, count, division, start + 8 + size


def parse_midi_file(data: bytes, *, limits: Limits) -> MidiFile:
    """Take a Standard MIDI File apart.

    Raises `ReadError`, naming the byte where the file is wrong, breaks off or lies about its lengths.
    """
    start, end = _unwrapped(data)
    form, count, ticks, at = _header(data, start, end)
    tracks: list[MidiTrack] = []
    messages = 0
    while len(tracks) < count:
        if at + 8 > end:
            raise ReadError("readers.tracks_missing", where=Place(byte=at), count=len(tracks), wanted=count)
        size = int.from_bytes(data[at + 4 : at + 8], "big")
        if size > end - at - 8:
            raise ReadError("readers.past_end_of_file", where=Place(byte=at + 4), count=size, left=end - at - 8)
        if data[at : at + 4] == b"MTrk":
            tracks.append(_track(data, at + 8, at + 8 + size, limits=limits, before=messages))
            messages += len(tracks[-1].messages)
        at += 8 + size
    return MidiFile(form, ticks, tuple(tracks))

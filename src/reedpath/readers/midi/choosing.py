"""Which track and channels of a MIDI file are read, and which of their messages begin and end each note."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass

from reedpath.errors import Clause, Place, ReadError
from reedpath.readers.midi.chunks import MidiFile, MidiMessage, MidiTrack
from reedpath.readers.omissions import Omissions
from reedpath.readers.registry import Option

# channel of drums, from 0; General MIDI 1 (channel 10)
_DRUMS = 9
_TRACK_NAME = 0x03
# names of a list that is told; ours
_MOST_LISTED = 20


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
    def place(self) -> Place:
        """What it is called in messages; tracks and channels are counted from 1, as players count them."""
        return Place(part=self.name) if self.name else Place(track=self.track + 1, channel=self.channel + 1)


def _begins(message: MidiMessage) -> bool:
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
        raise ReadError("readers.no_channel", channel=str(channel))
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
        listed = [
            Clause("readers.part_and_notes", part=each.place, count=each.notes) for each in sources[:_MOST_LISTED]
        ]
        raise ReadError("readers.no_notes_in_part", there_are=listed)
    chosen = [source for source in fitting if source.track == fitting[0].track]
    if form == 0 and channel is None:
        chosen = chosen[:1]
    for source in sources:
        if source not in chosen:
            _leave_out(source, omissions)
    return chosen


def paired_notes(track: MidiTrack, channel: int) -> tuple[list[tuple[int, int, int]], int]:
    """Notes of a channel by start, each its first tick, its last and its MIDI number; and how many are never let go.

    Of several notes of one pitch the first struck is the first let go. Those never let go end with their track. A
    note let go at the very tick before it is struck, as some writers order a note without duration, has none; other
    messages that let go of nothing are dropped.
    """
    notes: list[tuple[int, int, int]] = []
    held: dict[int, deque[int]] = {}
    let_go: dict[int, int] = {}
    for message in track.messages:
        if message.channel != channel or message.command not in (0x8, 0x9):
            continue
        pitch, tick = message.data[0], message.tick
        starts = held.setdefault(pitch, deque())
        if _begins(message):
            if let_go.pop(pitch, None) == tick:
                notes.append((tick, tick, pitch))
            else:
                starts.append(tick)
        elif starts:
            notes.append((starts.popleft(), tick, pitch))
        else:
            let_go[pitch] = tick
    hanging = [(start, track.end, pitch) for pitch, starts in held.items() for start in starts]
    return sorted((*notes, *hanging), key=lambda note: (note[0], note[2])), len(hanging)

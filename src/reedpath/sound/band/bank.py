"""The sound bank: where the band's instruments are, and how a part is sounded with it.

FluidR3 (MIT; Debian's fluid-soundfont-gm) is used where it is installed, else the bank inside the pretty_midi
wheel (TimGM6mb, GPL-2), whose bass, drums, guitars and piano are good enough to practise with, else another one that
the system has. A user's own comes before all of them.
"""

from __future__ import annotations

import importlib.util
from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path

import numpy as np
import numpy.typing as npt

from reedpath.errors import Place, SoundError
from reedpath.sound.band.playing import BandPart
from reedpath.sound.band.sampler import VELOCITY_DB, sample_note
from reedpath.sound.band.soundfont import FAMILY, open_bank, program_in
from reedpath.sound.loudness import SILENT_LUFS, loudness_lufs

# where Debian puts FluidR3, and the wheel's own bank
INSTALLED_BANKS = (Path("/usr/share/sounds/sf2/FluidR3_GM.sf2"),)
WHEEL, WHEEL_BANK = "pretty_midi", "TimGM6mb.sf2"
# where systems put the banks of their packages, and the one that stands for all (Debian, Arch, Fedora; from memory)
SYSTEM_BANKS = (
    Path("/usr/share/sounds/sf2/default-GM.sf2"),
    Path("/usr/share/sounds/sf3/default-GM.sf3"),
    Path("/usr/share/soundfonts/default.sf2"),
    Path("/usr/share/soundfonts/FluidR3_GM.sf2"),
    Path("/usr/share/sounds/sf2/TimGM6mb.sf2"),
)
# seconds of a part that are measured for its loudness; no more is needed for a pattern that goes round
MEASURED_SECONDS = 30.0
# seconds for which a note may ring when it is over, a drum from its start, and by which its sound may begin before
# it; generous
RINGING_SECONDS, SOONEST_SECONDS = 3.0, 0.1
# MIDI velocities between those that are sampled, so that one sample serves many notes: the rest is gain
SAMPLED_STEP, HARDEST_SAMPLED = 12, 120

Sound = npt.NDArray[np.float32]


@lru_cache(maxsize=1)
def bank_path() -> Path:
    """The sound bank to use; an error says what to install where there is none."""
    wheel = importlib.util.find_spec(WHEEL)
    inside = [Path(place) / WHEEL_BANK for place in (wheel.submodule_search_locations or ())] if wheel else []
    for path in (*INSTALLED_BANKS, *inside, *SYSTEM_BANKS):
        if path.is_file():
            return path
    raise SoundError("sound.no_bank")


def check_bank(path: Path, parts: Iterable[BandPart]) -> None:
    """Raise SoundError for a bank that cannot be read, or has no instrument for a player."""
    bank = open_bank(path)
    for part in parts:
        if program_in(bank, part.program, drums=part.drums) is not None:
            continue
        where = Place(file=str(path))
        if part.drums:
            raise SoundError("sound.bank_without_drums", where=where)
        first = part.program // FAMILY * FAMILY + 1
        raise SoundError(
            "sound.bank_without_player", where=where, player=part.name, first=first, last=first + FAMILY - 1
        )


def _notes_sounded(part: BandPart, begin: int, frames: int, rate: int, a4_hz: float, bank: Path | None) -> Sound:
    """What is heard of a part between two frames, as loud as its samples are."""
    opened = open_bank(bank or bank_path())
    near = program_in(opened, part.program, drums=part.drums)
    program = part.program if near is None else near
    out = np.zeros((frames, 2), dtype=np.float32)
    until = (begin + frames) / rate + SOONEST_SECONDS
    for note in part.notes:
        rings = RINGING_SECONDS + (0.0 if part.drums else note.seconds)
        if note.start_seconds > until or (note.start_seconds + rings) * rate < begin:
            continue
        held_ms = max(1, round(note.seconds * 1000))
        near_by = min(HARDEST_SAMPLED, max(SAMPLED_STEP, SAMPLED_STEP * round(note.velocity / SAMPLED_STEP)))
        made = sample_note(opened, program, note.midi, near_by, held_ms, drums=part.drums, rate=rate, a4_hz=a4_hz)
        gain = np.float32((note.velocity / near_by) ** (VELOCITY_DB / 20.0))
        start = round((note.start_seconds - made.delay_seconds) * rate) - begin
        first, last = max(start, 0), min(start + len(made.sound), frames)
        if first < last:
            out[first:last] += gain * made.sound[first - start : last - start]
    return out


def _gain_to(part: BandPart, sound: Sound, rate: int) -> float:
    loudness = loudness_lufs(sound[: round(MEASURED_SECONDS * rate)], rate=rate)
    return 10.0 ** ((part.loudness - loudness) / 20.0) if loudness > SILENT_LUFS else 1.0


def part_gain(part: BandPart, *, seconds: float, rate: int, a4_hz: float = 440.0, bank: Path | None = None) -> float:
    """How much louder a part of that length is to be than its samples, to be handed to `sound_part` for pieces."""
    frames = round(min(seconds, MEASURED_SECONDS) * rate)
    return _gain_to(part, _notes_sounded(part, 0, frames, rate, a4_hz, bank), rate)


def sound_part(
    part: BandPart,
    *,
    seconds: float,
    rate: int,
    a4_hz: float = 440.0,
    bank: Path | None = None,
    start_seconds: float = 0.0,
    gain: float | None = None,
) -> Sound:
    """
    A band's part at its own loudness, shape (round(seconds * rate), 2).

    Each note is moved so that it is heard when it should be, whatever its sample's own delay.

    a4_hz : reference pitch of all but drums.
    bank : a SoundFont 2 file; None for the one that is installed.
    start_seconds : where the piece begins that is wanted, on a frame; what began before rings on in it.
    gain : as `part_gain` gives it; from this piece's own loudness where left out.
    """
    out = _notes_sounded(part, round(start_seconds * rate), round(seconds * rate), rate, a4_hz, bank)
    out *= np.float32(_gain_to(part, out, rate) if gain is None else gain)
    return out

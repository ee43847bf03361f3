"""What is seen in a sound before anything is decided: pitch candidates, levels and attacks, frame by frame.

It is computed block by block; what is kept is about 60 bytes for each hundredth of a second, 22 MB an hour.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from reedpath.hear.attacks import AttackFinder
from reedpath.hear.frames import HOP_SECONDS, RATE, Float32, FrameCutter, heard_blocks
from reedpath.hear.missing_lows import lacks_lows, strengthened_lows
from reedpath.hear.partials import PartialFinder, Partials
from reedpath.hear.salience import peaks_of, salience
from reedpath.hear.spectrum import RoomTone, Spectra, refined_midi
from reedpath.signal.freed_memory import keep_freed_memory
from reedpath.signal.samples import Samples

# pitch candidates kept for each frame
CANDIDATES = 5
# share of the best one's salience from which a candidate's pitch is measured exactly; the others keep what the combs
# tell, which is a few cents off. Of 68,000 frames of glued takes in which a note is heard, none takes one of those
MEASURED_SHARE = 0.5
# windows looked at together: their spectra stay in the processor's cache (ours; 128 to 500 are as fast)
AT_ONCE = 250


@dataclass(frozen=True, slots=True, eq=False)
class Observations:
    """What is seen in a sound; frame n is centred on n * `HOP_SECONDS`.

    midi : pitch of each candidate, best first, shape (frames, `CANDIDATES`).
    strength : its salience, 0 to 1, 0 for no candidate; same shape.
    level_db : loudness of the best candidate's harmonics, shape (frames,); the zero is arbitrary.
    attack : strength of an attack, every half frame, shape (about 2 * frames,).
    envelope_db : level of the sound, every half frame, same shape; full scale is 0.
    duration_seconds : length of the sound.
    partials : peaks of long spectra, None unless double stops were asked for.
    """

    midi: Float32
    strength: Float32
    level_db: Float32
    attack: Float32
    envelope_db: Float32
    duration_seconds: float
    partials: Partials | None = None

    @property
    def frames(self) -> int:
        """Number of frames."""
        return len(self.level_db)

    @property
    def seconds(self) -> npt.NDArray[np.float64]:
        """Time of each frame."""
        return np.arange(self.frames, dtype=np.float64) * HOP_SECONDS


def _candidates(windows: Float32, room: RoomTone, *, low_strings: bool) -> list[tuple[Float32, Float32, Float32]]:
    """Pitches, saliences and levels of a block of windows, a part at a time."""
    room.learn(windows)
    parts = (windows[at : at + AT_ONCE] for at in range(0, max(1, len(windows)), AT_ONCE))
    return [_candidates_of(part, room, low_strings=low_strings) for part in parts]


def _candidates_of(windows: Float32, room: RoomTone, *, low_strings: bool) -> tuple[Float32, Float32, Float32]:
    spectra = Spectra(windows)
    rows, loudness = salience(room.taken_from(spectra.magnitudes))
    midi, strength = peaks_of(rows, CANDIDATES)
    level = 40.0 * np.log10(np.maximum(strength[:, 0] * loudness, 1e-6))
    worth = strength >= MEASURED_SHARE * strength[:, :1]
    refined = refined_midi(spectra, midi, worth).astype(np.float32)
    if low_strings and lacks_lows(spectra.magnitudes):
        refined, strength = strengthened_lows(spectra.magnitudes, refined, strength, worth)
    return refined, strength, level.astype(np.float32)


def observe(sound: Samples | Iterable[Samples], *, chords: bool = False, low_strings: bool = True) -> Observations:
    """Look at a sound.

    Parameters
    ----------
    sound : whole, or in blocks, as `reedpath.signal.open_blocks` gives them.
    chords : whether double stops will be asked for; then 30 MB an hour more are kept.
    low_strings : whether what lacks lows, as by telephone, may be low strings (see `missing_lows`). A harp's reeds
        that sound together repeat at a low period too: of them it is better not asked.
    """
    keep_freed_memory()
    partials = PartialFinder() if chords else None
    cutter, attacks, room = FrameCutter(), AttackFinder(), RoomTone()
    seen: list[tuple[Float32, Float32, Float32]] = []
    heard = 0
    for block in heard_blocks(sound):
        heard += len(block)
        attacks.feed(block)
        if partials:
            partials.feed(block)
        windows = cutter.feed(block)
        if len(windows):
            seen += _candidates(windows, room, low_strings=low_strings)
    windows = cutter.finish()
    if len(windows) or not seen:
        seen += _candidates(windows, room, low_strings=low_strings)
    midi, strength, level = (np.concatenate(columns) for columns in zip(*seen, strict=True))
    attack, envelope = attacks.finish()
    found = partials.finish() if partials else None
    return Observations(midi, strength, level, attack, envelope, heard / RATE, found)

"""Samples: sound as a value, files in and out, resampling. Knows nothing of music.

Pure rooms take the value from `reedpath.signal.samples`, which knows no disk.
"""

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face

if TYPE_CHECKING:
    from reedpath.signal.blocks import SoundBlocks, span_of
    from reedpath.signal.chapters import Chapter, encode_chaptered
    from reedpath.signal.coding import jumped_in_file
    from reedpath.signal.files import (
        ENCODINGS,
        BytesPut,
        decode,
        encode,
        open_blocks,
        rate_in,
        sound_file,
    )
    from reedpath.signal.put_aside import SoundAside
    from reedpath.signal.resample import BlockResampler, resampled
    from reedpath.signal.samples import Samples, concatenated, mixed, silence
    from reedpath.signal.slowing import slowed
    from reedpath.signal.wav import wav_file
    from reedpath.signal.waveform import Waveform, waveform_of_blocks
else:
    __getattr__ = lazy_face(__name__)

__all__ = [
    "ENCODINGS",
    "BlockResampler",
    "BytesPut",
    "Chapter",
    "Samples",
    "SoundAside",
    "SoundBlocks",
    "Waveform",
    "concatenated",
    "decode",
    "encode",
    "encode_chaptered",
    "jumped_in_file",
    "mixed",
    "open_blocks",
    "rate_in",
    "resampled",
    "silence",
    "slowed",
    "sound_file",
    "span_of",
    "wav_file",
    "waveform_of_blocks",
]

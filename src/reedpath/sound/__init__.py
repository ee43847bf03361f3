"""Sound: the reed voice, the band, click, mix and MIDI. Knows nothing of pages."""

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face

if TYPE_CHECKING:
    from reedpath.sound.backing import Backing, BackingLayout, Round, lay_out_backing, play_with_band
    from reedpath.sound.band import (
        Groove,
        bank_path,
        groove_names,
        load_groove,
        parse_groove,
    )
    from reedpath.sound.blocks import sound_blocks
    from reedpath.sound.blocks_with_band import backing_blocks
    from reedpath.sound.choosing import choose
    from reedpath.sound.click import Click, counted_in
    from reedpath.sound.levelling import TARGET_LUFS, in_one_channel, levelled
    from reedpath.sound.loudness import loudness_lufs
    from reedpath.sound.midi_out import encode_midi
    from reedpath.sound.plan import Plan, plan_route
    from reedpath.sound.play_alongs import (
        SOUND_BITS,
        SOUND_RATE,
        PlayAlong,
        PlayAlongLayout,
        Turns,
        ladder_name,
        lay_out,
        play_along,
        play_along_name,
        play_along_seconds,
        sounded,
        spot_name,
        tempo_number,
        with_band_name,
    )
    from reedpath.sound.played_moves import SoundSpan
    from reedpath.sound.practice import (
        MOST_TIMES,
        Loop,
        LoopLayout,
        Recording,
        encode_recording,
        lay_out_spot,
        play_ladder,
        play_spot,
    )
    from reedpath.sound.tones import Attack, Contour, Tone, Vibrato
    from reedpath.sound.voice import render_tones
else:
    __getattr__ = lazy_face(__name__)

__all__ = [
    "MOST_TIMES",
    "SOUND_BITS",
    "SOUND_RATE",
    "TARGET_LUFS",
    "Attack",
    "Backing",
    "BackingLayout",
    "Click",
    "Contour",
    "Groove",
    "Loop",
    "LoopLayout",
    "Plan",
    "PlayAlong",
    "PlayAlongLayout",
    "Recording",
    "Round",
    "SoundSpan",
    "Tone",
    "Turns",
    "Vibrato",
    "backing_blocks",
    "bank_path",
    "choose",
    "counted_in",
    "encode_midi",
    "encode_recording",
    "groove_names",
    "in_one_channel",
    "ladder_name",
    "lay_out",
    "lay_out_backing",
    "lay_out_spot",
    "levelled",
    "load_groove",
    "loudness_lufs",
    "parse_groove",
    "plan_route",
    "play_along",
    "play_along_name",
    "play_along_seconds",
    "play_ladder",
    "play_spot",
    "play_with_band",
    "render_tones",
    "sound_blocks",
    "sounded",
    "spot_name",
    "tempo_number",
    "with_band_name",
]

"""Sound: the reed voice, click, mix and MIDI. Knows nothing of pages."""

from reedpath.sound.ladder import Layout, PlayAlong, lay_out, play_along, play_along_name
from reedpath.sound.midi_out import encode_midi
from reedpath.sound.pieces import Span
from reedpath.sound.plan import Plan, plan_route
from reedpath.sound.tones import Attack, Contour, Tone, Vibrato
from reedpath.sound.voice import render_tones

__all__ = [
    "Attack",
    "Contour",
    "Layout",
    "Plan",
    "PlayAlong",
    "Span",
    "Tone",
    "Vibrato",
    "encode_midi",
    "lay_out",
    "plan_route",
    "play_along",
    "play_along_name",
    "render_tones",
]

"""Harmonica tab: holes and breaths as people type them, in signs, letters, arrows or brackets.

The notation is told by its looks or named; the harp by its key and tuning. What is read, and how lengths may
be typed, is written down in docs/sources-tab.md. There is no standard.

Options: ``harp``, ``tuning``, ``notation``, ``german_names``.
"""

from __future__ import annotations

from reedpath.readers.harmonica_tab.reading import read_harmonica_tab
from reedpath.readers.harmonica_tab.settings import ASSUMED_HARP, GERMAN_B
from reedpath.readers.harmonica_tab.slots import SHAKE
from reedpath.readers.harmonica_tab.sniffing import sniff_harmonica_tab
from reedpath.readers.harmonica_tab.timing import GUESSED
from reedpath.readers.registry import Reader

__all__ = ["ASSUMED_HARP", "GERMAN_B", "GUESSED", "READER", "SHAKE", "read_harmonica_tab", "sniff_harmonica_tab"]

READER = Reader(
    name="harmonica-tab",
    title="harmonica tab",
    suffixes=(".harp", ".txt", ".tab"),
    sniff=sniff_harmonica_tab,
    read=read_harmonica_tab,
    options={
        "harp": "key of the harp the tab is for, such as A, Bb or Low F",
        "tuning": "tuning of that harp",
        "notation": "notation the tab is typed in; told by its looks otherwise",
        "german_names": "yes when B means B flat and H means B natural",
    },
)

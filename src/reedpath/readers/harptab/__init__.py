"""Harmonica tab: holes and breaths as people type them, in signs, letters, arrows or brackets.

The notation is told by its looks or named; the harp by its key and tuning. What is read, and how lengths may
be typed, is written down in docs/sources-tab.md. There is no standard.

Options: ``harp``, ``tuning``, ``notation``, ``german_names``.
"""

from __future__ import annotations

from reedpath.readers.harptab.reading import read_harptab
from reedpath.readers.harptab.settings import ASSUMED_HARP, GERMAN_B
from reedpath.readers.harptab.slots import SHAKE
from reedpath.readers.harptab.sniffing import sniff_harptab
from reedpath.readers.harptab.timing import GUESSED
from reedpath.readers.registry import Reader

__all__ = ["ASSUMED_HARP", "GERMAN_B", "GUESSED", "READER", "SHAKE", "read_harptab", "sniff_harptab"]

READER = Reader(
    name="harptab",
    title="harmonica tab",
    suffixes=(".harp", ".txt", ".tab"),
    sniff=sniff_harptab,
    read=read_harptab,
    options={
        "harp": "key of the harp the tab is for, such as A, Bb or Low F",
        "tuning": "tuning of that harp",
        "notation": "notation the tab is typed in; told by its looks otherwise",
        "german_names": "yes when B means B flat and H means B natural",
    },
)

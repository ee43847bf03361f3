"""A lead over a band, from recorded notes that nobody here made.

Sound: open strings of guitarsounds 1.2.0 (MIT; PyPI) as the lead, bass and chords of the FluidR3 bank (MIT; Debian's
fluid-soundfont-gm), drum hits of sonic-pi-samples (CC0; Debian); mixed, mastered and coded by
bench/hear_record_sounds.py. Notes are counted by mir_eval's definitions (onset within 50 ms, pitch within 50 cents).
The bounds leave room under what docs/accuracy.md reports.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from hear_record_sounds import HELD_OUT, made_record
from hear_records import matched, ours
from hear_sound import MissingSound

pytestmark = pytest.mark.outside


@pytest.fixture(scope="module")
def heard():
    """A record of the held-out half, shortened, and what is heard of it."""
    record = replace(HELD_OUT[2], bass=("fluid", 33), comping=("fluid", 25), bars=5)
    try:
        specimen = made_record(record, 3)
    except MissingSound as missing:
        pytest.skip(str(missing))
    return specimen, ours(record, specimen)


def test_the_lead_comes_back_note_for_note_over_a_band(heard):
    specimen, found = heard
    right = len(matched(specimen, found["notes"]))
    assert 2 * right / (len(specimen.notes) + len(found["notes"])) > 0.8


def test_the_tempo_is_the_drums(heard):
    _, found = heard
    assert found["tempo"]


def test_few_right_notes_are_doubted(heard):
    specimen, found = heard
    right = matched(specimen, found["notes"])
    doubted = [index for index in right if found["doubtful"][index]]
    assert len(doubted) <= len(right) / 5

"""The lead of a record, heard: its notes with how sure each is, the beats of the drums, the key of the chords."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np

from reedpath.hear.beats import Beats
from reedpath.hear.frames import HOP_SECONDS, RATE, Float32
from reedpath.hear.lead.beginnings import beginnings_of
from reedpath.hear.lead.candidates import Whereabouts
from reedpath.hear.lead.cutting import LeadNote, cut_into_notes
from reedpath.hear.lead.doubt import right_chances
from reedpath.hear.lead.drums import drum_beats
from reedpath.hear.lead.following import FollowedLead, follow
from reedpath.hear.lead.harmony import harmony_key, share_beside
from reedpath.hear.lead.stereo import stereo_at_rate
from reedpath.hear.notes import HeardNote
from reedpath.phrase import KeyGuess
from reedpath.signal.blocks import span_of
from reedpath.signal.samples import Samples

# probability of a note to be right under which it is marked as doubtful, and from which it is written; set on the
# records of bench/hear_record_fit.py, each heard by networks fitted without its banks (docs/accuracy.md)
DOUBTFUL_UNDER = 0.82
WRITTEN_FROM = 0.35
# shares of the time that have gone by when the course is followed, beginnings and beats are found (a record of 20 s)
FOLLOWED_SHARE, BEGUN_SHARE, BEATEN_SHARE = 0.7, 0.85, 0.97
# seconds on each side of a span in which bass and chords tell its key too: with a span of some bars about a minute,
# longer than a twelve-bar form at 60 beats a minute (48 s)
AROUND_SECONDS = 30.0
# share of what sounds beside a lead's harmonics under which, without a bass, it plays alone: of ten lone leads drawn
# from the banks that are fitted on .13 to .41, of forty records with a band .43 to .82
ALONE_UNDER = 0.4
# log odds from which a note was struck
STRUCK_ODDS = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class RecordHeard:
    """What is heard of a record.

    notes : of the lead, in order; the confidence of each is the probability that it is right.
    beats : of the drums, None where nothing strikes. key : of bass and chords, none where the lead plays alone.
    where : range and place of the lead.
    """

    notes: tuple[HeardNote, ...]
    beats: Beats | None
    key: KeyGuess
    where: Whereabouts


def _heard(note: LeadNote, lead: FollowedLead, chance: float) -> HeardNote:
    whole = round(note.midi)
    part = slice(note.first, note.last)
    return HeardNote(
        start_seconds=max(0.0, note.start_seconds),
        end_seconds=max(note.end_seconds, note.start_seconds + HOP_SECONDS),
        midi=whole,
        cents=100.0 * (note.midi - whole),
        confidence=chance,
        level_db=float(lead.level_db[part].max()),
        attacked=note.start_odds > STRUCK_ODDS,
        contour_seconds=np.arange(note.first, note.last, dtype=np.float64) * HOP_SECONDS,
        contour_midi=lead.midi[part].copy(),
    )


def _alone(array: Float32, lead: FollowedLead) -> bool:
    """Whether the lead plays without bass and chords."""
    return bool(np.isnan(lead.bass.midi).all()) and share_beside(array, lead.midi) < ALONE_UNDER


def hear_record(
    sound: Samples | Iterable[Samples],
    *,
    start_seconds: float = 0.0,
    end_seconds: float | None = None,
    told: Callable[[float], None] = lambda share: None,
) -> RecordHeard:
    """The lead line of a finished record, and the tempo and key of the band under it.

    Parameters
    ----------
    sound : whole, or in blocks, as `reedpath.signal.open_blocks` gives them. It is kept whole, at 128 kilobytes a
        second, while it is heard.
    start_seconds, end_seconds : the span in which it is heard; times count from its start. What sounds up to 30
        seconds before and after it helps to tell its key.
    told : is told, step by step, about how much of the time has gone by, 0 to 1.
    """
    from_seconds = max(0.0, start_seconds - AROUND_SECONDS)
    until_seconds = None if end_seconds is None else end_seconds + AROUND_SECONDS
    around = stereo_at_rate(span_of(sound, from_seconds, until_seconds))
    first = round(RATE * (start_seconds - from_seconds))
    part = slice(first, len(around) if end_seconds is None else first + round(RATE * (end_seconds - start_seconds)))
    array = around[part]
    if not array.any():
        return RecordHeard((), None, KeyGuess(None), Whereabouts())
    lead = follow(array, told=lambda share: told(FOLLOWED_SHARE * share))
    told(FOLLOWED_SHARE)
    odds = beginnings_of(array, lead)
    told(BEGUN_SHARE)
    notes = cut_into_notes(lead, odds)
    chances = right_chances(lead, notes, odds)
    heard = tuple(_heard(note, lead, float(chance)) for note, chance in zip(notes, chances, strict=True))
    beats = drum_beats(array)
    told(BEATEN_SHARE)
    key = harmony_key(around, part if len(array) < len(around) else None)
    return RecordHeard(heard, beats, KeyGuess(None) if _alone(array, lead) else key, lead.range_told())

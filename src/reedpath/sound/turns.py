"""Turns: in which bars of the rounds the phrase stands, who plays it there, and when each turn and its bars sound.

Without a place of its own the phrase begins each round, and a turn is a round long. Put at bars of the form, it has a
turn at each of them in every round, which lasts until the next. In call and response the harmonica then calls in the
phrase's bars and the student answers in those that follow, where there is room for it between all places; where there
is none, the student answers in the phrase's next place.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from reedpath.errors import SoundError
from reedpath.phrase import Phrase, Timing, metre_at
from reedpath.sound.play_alongs import Turns


@dataclass(frozen=True, slots=True)
class BarTurn:
    """One turn of the phrase.

    bar : in which its first whole bar falls, counted from 0 through all rounds.
    bars : how many there are until the next turn, or the end.
    played : whether the harmonica plays it.
    """

    bar: int
    bars: int
    played: bool


def _checked(at_bars: Sequence[int], form_bars: int, needed: int, core: int) -> list[int]:
    """Bars in order; SoundError for one that the form has not, or from which the phrase has no room."""
    wanted = sorted(set(at_bars))
    for bar in wanted:
        if not 1 <= bar <= form_bars:
            raise SoundError("sound.no_such_bar", bar=bar, most=form_bars)
        if bar + core - 1 > form_bars:
            raise SoundError("sound.runs_over", bar=bar, bars=core, most=form_bars)
    for before, after in pairwise([*wanted, wanted[0] + form_bars]):
        if after - before < needed:
            raise SoundError("sound.places_too_near", first=before, next=(after - 1) % form_bars + 1, bars=needed)
    return wanted


def _called(places: Sequence[int], needed: int, end: int) -> list[tuple[int, bool]]:
    """The bars at which turns begin when the student answers, and whether the harmonica plays them."""
    rooms = [after - before for before, after in pairwise((*places, end))]
    if any(room < 2 * needed for room in rooms[:-1]):
        return [(bar, turn % 2 == 0) for turn, bar in enumerate(places)]
    begun: list[tuple[int, bool]] = []
    for bar, room in zip(places, rooms, strict=True):
        begun += [(bar, True), (bar + needed, False)] if room >= 2 * needed else [(bar, True)]
    return begun


def bar_turns(
    turns: Turns, *, form_bars: int, rounds: int, needed: int, core: int = 1, at_bars: Sequence[int] = ()
) -> list[BarTurn]:
    """
    The turns of all rounds, in order.

    form_bars : of a round.
    needed : bars that one playing of the phrase takes before it can begin anew.
    core : bars that it must have before the end of a round; a last short note may fall on the bar line after.
    at_bars : bars of the form, from 1, at which the phrase stands; none for the beginning of each round.

    Raises `SoundError` for bars that the form has not, that leave no room, or that are too near to one another.
    """
    if not at_bars:
        return [BarTurn(turn * form_bars, form_bars, turns.plays(turn)) for turn in range(rounds)]
    wanted = _checked(at_bars, form_bars, needed, core)
    end = rounds * form_bars
    places = [turn * form_bars + bar - 1 for turn in range(rounds) for bar in wanted]
    if turns is Turns.CALL:
        begun = _called(places, needed, end)
    else:
        begun = [(bar, turns is Turns.TOGETHER) for bar in places]
    ends = [bar for bar, _ in begun[1:]] + [end]
    return [BarTurn(bar, until - bar, played) for (bar, played), until in zip(begun, ends, strict=True)]


@dataclass(frozen=True, slots=True)
class TurnTimes:
    """When turns and their bars sound, each turn in the phrase's own tempo.

    turns : as `bar_turns` gives them. zeros : where beat 0 of the phrase lies in each, seconds.
    pickup, bar_beats : of the phrase, quarter notes.
    """

    turns: tuple[BarTurn, ...]
    zeros: tuple[float, ...]
    pickup: Fraction
    bar_beats: Fraction

    def place_of(self, bar: int) -> tuple[float, Fraction]:
        """Where beat 0 of the phrase lies in the turn that a bar belongs to, and the beat that the bar begins with.

        Bars before the first turn belong to it.
        """
        turn = max(0, bisect_right(self.turns, bar, key=lambda one: one.bar) - 1)
        return self.zeros[turn], self.pickup + (bar - self.turns[turn].bar) * self.bar_beats


def turn_times(turns: Sequence[BarTurn], phrase: Phrase, timing: Timing, zero_seconds: float) -> TurnTimes:
    """
    When turns sound.

    zero_seconds : where beat 0 of the phrase would lie, were it played from the first bar of all.
    """
    bar = metre_at(phrase, Fraction(0)).bar
    opening = timing.seconds_at(phrase.pickup)
    lead = opening - timing.seconds_at(phrase.pickup - turns[0].bar * bar) if turns[0].bar else 0.0
    lengths = {one.bars: timing.seconds_at(phrase.pickup + one.bars * bar) - opening for one in turns}
    zeros: list[float] = []
    passed: Counter[int] = Counter()
    for one in turns:
        # by how many turns of each length came before, so that rounds that are alike lie where multiples do
        zeros.append(zero_seconds + lead + sum(count * lengths[bars] for bars, count in passed.items()))
        passed[one.bars] += 1
    return TurnTimes(tuple(turns), tuple(zeros), phrase.pickup, bar)

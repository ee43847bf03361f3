"""When what was played is due again: spaced repetition by a published scheduler, through its library.

FSRS (from memory: Ye, Su & Cao, "A stochastic shortest path algorithm for optimizing spaced repetition scheduling",
KDD 2022; the library ``fsrs``) with its published weights, without fuzz and without steps inside a day, so that the
same takes give the same days. The time is given, never read.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from functools import cache

from fsrs import Card, Rating, Scheduler
from msgspec import Struct

# shares of the notes right from which on a playing is rated as forgotten, hard, good and easy; ours: below six in ten
# it has to be learnt anew, below the aim of four in five it was hard, at nineteen in twenty nothing is left to do
FORGOTTEN_BELOW, HARD_BELOW, EASY_FROM = 0.6, 0.8, 0.95
# share of what is practised that is to be known still when it is due again (the library's own default), and days at
# most between: half a year, ours
RETENTION, MOST_DAYS = 0.9, 180


class PracticeReview(Struct, frozen=True):
    """Something played once.

    thing : its name, any text that is not another thing's. at : when, in UTC. share : of its notes right, 0 to 1.
    """

    thing: str
    at: datetime
    share: float


class PracticeCard(Struct, frozen=True):
    """Something that is practised.

    due : when it is to be played again. played : when it was played last. times : how often.
    share : of its notes right when it was played last.
    stability_days : after which nine in ten are remembered still.
    """

    thing: str
    due: datetime
    played: datetime
    times: int
    share: float
    stability_days: float


def rating_of(share: float) -> Rating:
    """How a playing is rated, by the share of its notes that are right."""
    if share < FORGOTTEN_BELOW:
        return Rating.Again
    if share < HARD_BELOW:
        return Rating.Hard
    return Rating.Easy if share >= EASY_FROM else Rating.Good


@cache
def _scheduler() -> Scheduler:
    return Scheduler(
        desired_retention=RETENTION,
        learning_steps=(),
        relearning_steps=(),
        maximum_interval=MOST_DAYS,
        enable_fuzzing=False,
    )


def cards_of(reviews: Iterable[PracticeReview]) -> Mapping[str, PracticeCard]:
    """Everything that was played, by its name, each as it stands after its last time."""
    of: dict[str, list[PracticeReview]] = {}
    for one in sorted(reviews, key=lambda one: one.at):
        of.setdefault(one.thing, []).append(one)
    cards = {}
    for number, (thing, played) in enumerate(of.items()):
        # number and time are given: the library would read the clock for them
        card = Card(card_id=number, due=played[0].at)
        for one in played:
            card, _ = _scheduler().review_card(card, rating_of(one.share), one.at)
        last = played[-1]
        cards[thing] = PracticeCard(thing, card.due, last.at, len(played), last.share, card.stability or 0.0)
    return cards


def due_cards(cards: Mapping[str, PracticeCard], now: datetime) -> Sequence[PracticeCard]:
    """What is due at a time, the longest overdue for its age first."""

    def lateness(one: PracticeCard) -> float:
        waited = (one.due - one.played).total_seconds()
        return (now - one.played).total_seconds() / max(waited, 1.0)

    return sorted((one for one in cards.values() if one.due <= now), key=lambda one: (-lateness(one), one.thing))

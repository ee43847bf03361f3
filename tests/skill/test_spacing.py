"""When what was played is due again."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from fsrs import Card, Rating, Scheduler
from hypothesis import given
from hypothesis import strategies as st

from reedpath.skill import PracticeReview, cards_of, due_cards, rating_of
from support.examples import examples

START = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)


def reviews(*shares: float, thing: str = "a", days: int = 7) -> list[PracticeReview]:
    return [PracticeReview(thing, START + timedelta(days=days * turn), share) for turn, share in enumerate(shares)]


def test_ratings_go_up_with_what_is_right() -> None:
    assert [rating_of(one) for one in (0, 0.59, 0.6, 0.79, 0.8, 0.94, 0.95, 1)] == [
        Rating.Again, Rating.Again, Rating.Hard, Rating.Hard, Rating.Good, Rating.Good, Rating.Easy, Rating.Easy
    ]  # fmt: skip


def test_the_days_are_those_that_the_library_gives() -> None:
    scheduler = Scheduler(learning_steps=(), relearning_steps=(), enable_fuzzing=False, maximum_interval=180)
    card = Card(card_id=1, due=START)
    for turn, rating in enumerate((Rating.Again, Rating.Hard, Rating.Good, Rating.Easy)):
        card, _ = scheduler.review_card(card, rating, START + timedelta(days=7 * turn))
    found = cards_of(reviews(0.5, 0.7, 0.85, 1.0))["a"]
    assert (found.due, found.stability_days) == (card.due, card.stability)
    assert (found.times, found.share, found.played) == (4, 1.0, START + timedelta(days=21))


def test_what_went_well_waits_longer() -> None:
    days = [cards_of(reviews(share))["a"].due - START for share in (0.3, 0.7, 0.9, 1.0)]
    assert days == sorted(days)
    assert days[0] >= timedelta(days=1)
    assert days[0] < days[-1]


@examples(30)
@given(
    played=st.lists(st.tuples(st.sampled_from("abc"), st.integers(0, 400), st.floats(0, 1)), max_size=12),
    order=st.randoms(),
)
def test_the_same_takes_give_the_same_days_in_whatever_order_they_are_told(played, order) -> None:
    every = [PracticeReview(thing, START + timedelta(hours=at), share) for thing, at, share in played]
    every = list({(one.thing, one.at): one for one in every}.values())
    other = list(every)
    order.shuffle(other)
    assert cards_of(every) == cards_of(other)
    for card in cards_of(every).values():
        assert card.due > card.played


def test_what_is_due_is_told_the_longest_overdue_for_its_age_first() -> None:
    cards = cards_of([*reviews(0.3, thing="a"), *reviews(1.0, thing="b"), *reviews(0.9, thing="c")])
    assert due_cards(cards, START) == []
    late = due_cards(cards, START + timedelta(days=100))
    assert [one.thing for one in late] == ["a", "c", "b"]
    assert [one.thing for one in due_cards(cards, cards["a"].due)] == ["a"]


def test_a_time_without_a_zone_is_refused_by_the_library() -> None:
    with pytest.raises(ValueError, match="UTC"):
        cards_of([PracticeReview("a", datetime(2026, 3, 2), 1.0)])

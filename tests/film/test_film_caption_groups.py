"""Which steps are told while a phrase is played: exact against trying all, and readable."""

from __future__ import annotations

from itertools import combinations, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.film.caption_groups import CaptionGroup, CaptionPage, _best, _Candidate, reading_seconds
from reedpath.lesson import StepKind
from support.examples import examples

GROUP = CaptionGroup(0, StepKind.MOVE, 0, 0, (CaptionPage(0, 1, 1.5),))

WISHES = st.lists(
    st.builds(
        lambda start, length, weight: _Candidate(GROUP, start / 4, (start + length) / 4, weight / 2, 0.0),
        st.integers(0, 30),
        st.integers(1, 12),
        st.integers(1, 9),
    ),
    max_size=9,
)


def _fits(wishes: tuple[_Candidate, ...]) -> bool:
    ordered = sorted(wishes, key=lambda wish: wish.start)
    return all(before.end <= after.start for before, after in pairwise(ordered))


@examples(120)
@given(WISHES)
def test_no_other_set_is_worth_more(wishes: list[_Candidate]) -> None:
    ordered = sorted(wishes, key=lambda wish: wish.end)
    taken = _best(ordered)
    assert _fits(tuple(taken))
    most = max(
        sum(wish.weight for wish in some)
        for count in range(len(wishes) + 1)
        for some in combinations(wishes, count)
        if _fits(some)
    )
    assert sum(wish.weight for wish in taken) == pytest.approx(most)


def test_reading_takes_time() -> None:
    assert reading_seconds(3) == 1.5
    assert reading_seconds(60) == pytest.approx(4.3)

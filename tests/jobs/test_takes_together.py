"""What several takes tell together: places that went wrong for most, and one take against the one before."""

from __future__ import annotations

from fractions import Fraction
from types import SimpleNamespace

import pytest

from reedpath.jobs.take_overview import _change, _common, _faulty_bars, _tried_bars
from reedpath.page.takes.overview import TakeChange
from reedpath.wording import load_catalogue
from support.built_routes import built_route

ENGLISH = load_catalogue("en")
# four bars of four notes each
ROUTE = built_route("2d 3d 4b 4d 5d 4d 4b 3d 2d 3d 4b 4d 5d 4d 4b 3d".replace(" ", ":1 ") + ":1")


def play(*wrong: int) -> SimpleNamespace:
    events = [SimpleNamespace(event=index, faults=("something",) * (index in wrong)) for index in range(16)]
    return SimpleNamespace(events=events)


def take(student: str, *wrong: int, lesson: str = "Low Road", piece: str = "", route=ROUTE) -> SimpleNamespace:
    kept = SimpleNamespace(record=SimpleNamespace(lesson=lesson))
    return SimpleNamespace(student=student, route=route, best=play(*wrong), kept=kept, piece=piece, piece_title="")


def told(*takes: SimpleNamespace) -> list[tuple[str, str, tuple[str, ...]]]:
    return [(one.place, one.move, one.students) for one in _common(takes, ENGLISH)]


def test_a_place_is_told_where_two_students_and_half_of_them_went_wrong() -> None:
    assert told(take("Ada", 5), take("Ben", 5)) == [("bar 2", "4 draw", ("Ada", "Ben"))]
    assert told(take("Ada", 5), take("Ben", 6)) == []
    assert told(take("Ada", 5), take("Ben", 5), take("Cy"), take("Di")) != []
    assert told(take("Ada", 5), take("Ben", 5), take("Cy"), take("Di"), take("Ed")) == []


def test_each_bar_is_told_once_with_what_most_missed_and_three_at_most() -> None:
    everybody = (1, 2, 5, 9, 13)
    takes = [take("Ada", *everybody), take("Ben", *everybody), take("Cy", 2)]
    assert told(*takes) == [
        ("bar 1", "4 blow", ("Ada", "Ben", "Cy")),
        ("bar 2", "4 draw", ("Ada", "Ben")),
        ("bar 3", "3 draw", ("Ada", "Ben")),
    ]


def test_takes_of_another_lesson_or_piece_or_of_nobody_or_not_heard_are_not_counted_together() -> None:
    both = (take("Ada", 5), take("Ben", 5, lesson="High Road"))
    assert told(*both) == []
    assert told(take("Ada", 5), take("Ben", 5, piece="2-high-road")) == []
    assert told(take("Ada", 5), take("", 5)) == []
    silent = take("Ben", 5)
    silent.best = None
    assert told(take("Ada", 5), silent) == []
    # of a lesson that was changed the last take's version counts
    changed = built_route("2d:1 3d:1", bpm=80)
    assert told(take("Ada", 5, route=changed), take("Ben", 5), take("Cy", 5)) != []
    assert told(take("Ben", 5), take("Cy", 5), take("Ada", route=changed)) == []


def test_bars_are_counted_with_their_faults() -> None:
    assert {one.number: count for one, count in _faulty_bars(play(1, 2, 5), ROUTE).items()} == {1: 2, 2: 1}
    assert {one.number for one in _tried_bars(play(), ROUTE)} == {1, 2, 3, 4}


@pytest.mark.parametrize(
    ("right", "factor", "change"),
    [
        (Fraction(56, 100), 1.0, TakeChange.BETTER),
        (Fraction(44, 100), 2.0, TakeChange.WORSE),
        (Fraction(54, 100), 1.0, TakeChange.SAME),
        (Fraction(46, 100), 1.04, TakeChange.SAME),
        (Fraction(1, 2), 1.06, TakeChange.FASTER),
        (Fraction(1, 2), 0.94, TakeChange.SLOWER),
        (Fraction(1, 2), 0.96, TakeChange.SAME),
    ],
)
def test_a_take_is_better_by_notes_and_else_by_tempo(right: Fraction, factor: float, change: TakeChange) -> None:
    def of(share: Fraction, factor: float) -> SimpleNamespace:
        return SimpleNamespace(right_share=share, tempo=SimpleNamespace(factor=factor))

    assert _change(of(right, factor), of(Fraction(1, 2), 1.0)) is change

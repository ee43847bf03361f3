"""What is most worth practising, which stretches failed, and what each fault weighs, worked out by hand."""

from __future__ import annotations

import pytest

from reedpath.arrange import Effort
from reedpath.data import replace
from reedpath.harp import Breath, Move
from reedpath.hear import Condition
from reedpath.listen import Fault, FaultKind, Notice, ReedHeard, ReedState, holes_heard
from reedpath.listen.advice import failed_spots, practise_of
from reedpath.listen.answering import notices_of
from reedpath.listen.judging import cents_told, fault_of
from support.built_routes import built_route
from support.heard_takes import HeardTake
from support.listened import perfect_event

ROUTE = built_route("2d 3d 4b 4d 5d 4d 4b 3d 2d 4d 5d 6b")


def answers(faults, *, count=12, route=ROUTE):
    """Perfect events but for the faults, by index: kind, weight, amount."""
    return [
        replace(
            perfect_event(route, index, 0.0),
            faults=tuple(Fault(kind, amount, weight) for kind, weight, amount in faults.get(index, ())),
        )
        for index in range(count)
    ]


def late(weight, amount=100.0):
    return [(FaultKind.LATE, weight, amount)]


# ------------------------------------------------------------------------------------------------ what to practise


@pytest.mark.parametrize(("weight", "told"), [(0.25, 1), (0.249, 0)])
def test_what_weighs_a_quarter_of_a_wrong_note_is_told(weight, told):
    assert len(practise_of(answers({3: late(weight)}))) == told


def test_weights_of_one_thing_add_up_and_its_amount_is_the_median():
    (one,) = practise_of(answers({1: late(0.1, 70.0), 4: late(0.2, 200.0), 6: late(0.1, 90.0)}))
    assert (one.kind, one.events, one.move, one.amount) == (FaultKind.LATE, (1, 4, 6), None, 90.0)
    assert one.weight == pytest.approx(0.4)


def test_three_things_are_told_the_weightiest_first_and_of_equal_ones_the_first():
    kinds = (FaultKind.SHORT, FaultKind.EARLY, FaultKind.EXTRA, FaultKind.LATE)
    faults = {index: [(kind, 0.5, 1.0)] for index, kind in enumerate(kinds)}
    faults[3] = [(FaultKind.LATE, 0.6, 1.0)]
    assert [one.kind for one in practise_of(answers(faults))] == [kinds[3], kinds[0], kinds[1]]
    assert [one.kind for one in practise_of(answers(faults), most=1)] == [kinds[3]]
    assert len(practise_of(answers(faults), most=9)) == 4


@pytest.mark.parametrize(
    "kind", [FaultKind.FLAT, FaultKind.SHARP, FaultKind.ANOTHER, FaultKind.GLIDE, FaultKind.UNSTEADY]
)
def test_a_fault_of_a_move_is_told_of_each_move_by_itself(kind):
    # 4 draw at 3 and 5, 5 draw at 4
    found = practise_of(answers({3: [(kind, 0.3, 1.0)], 5: [(kind, 0.3, 1.0)], 4: [(kind, 0.5, 1.0)]}))
    assert [(one.events, one.move) for one in found] == [
        ((3, 5), Move((4,), Breath.DRAW)),
        ((4,), Move((5,), Breath.DRAW)),
    ]


def test_a_leak_is_one_habit_and_names_its_note_where_it_is_one_only():
    leak = [(FaultKind.HOLE_TOO_MANY, 0.6, 1.0)]
    (one,) = practise_of(answers({3: leak, 5: leak}))
    assert (one.events, one.move) == ((3, 5), Move((4,), Breath.DRAW))
    (one,) = practise_of(answers({3: leak, 4: leak}))
    assert (one.events, one.move) == ((3, 4), None)


def test_holes_of_a_chord_are_told_by_which_of_them_are_wrong():
    route = built_route("(1 2)b (1 2)b (1 2)b")
    silent = (ReedHeard(1, True, ReedState.SILENT), ReedHeard(2, True, ReedState.SOUNDS))
    other = (ReedHeard(1, True, ReedState.SOUNDS), ReedHeard(2, True, ReedState.SILENT))
    missing = {index: [(FaultKind.HOLE_MISSING, 0.7, 1.0)] for index in range(3)}
    found = answers(missing, count=3, route=route)
    found = [replace(one, reeds=reeds) for one, reeds in zip(found, (silent, other, silent), strict=True)]
    assert [one.events for one in practise_of(found)] == [(0, 2), (1,)]


# ------------------------------------------------------------------------------------------------------- the spots


def spots(places, **options):
    return [
        (one.first, one.last) for one in failed_spots(ROUTE, answers(dict.fromkeys(places, late(0.5)), **options))
    ]


@pytest.mark.parametrize(
    ("places", "found"),
    [
        ((), []),
        ((0,), [(0, 1)]),
        ((1,), [(0, 1)]),
        ((5,), [(4, 5)]),
        ((11,), [(10, 11)]),
        ((5, 6), [(4, 6)]),
        ((5, 7), [(4, 7)]),
        ((5, 8), [(4, 5), (7, 8)]),
        ((0, 1), [(0, 1)]),
        (range(1, 9), [(0, 7), (7, 8)]),
    ],
)
def test_a_spot_has_the_faulty_events_and_the_one_that_leads_in(places, found):
    assert spots(places) == found


def test_an_event_that_is_alone_is_its_own_spot():
    assert spots((0,), count=1) == [(0, 0)]


def test_of_many_spots_the_four_heaviest_are_told_in_order():
    route = built_route("4d " * 20)
    faults = {place: late(weight) for place, weight in ((1, 0.4), (5, 0.1), (9, 0.3), (13, 0.2), (17, 0.5))}
    found = failed_spots(route, answers(faults, count=20, route=route))
    assert [one.last for one in found] == [1, 9, 13, 17]


def test_a_spot_costs_what_its_events_cost_and_tells_the_heaviest_fault_first():
    events = tuple(replace(one, effort=Effort({"move": 10.0**index})) for index, one in enumerate(ROUTE.events[:6]))
    route = replace(ROUTE, events=events)
    faults = {2: late(0.2), 3: [(FaultKind.FLAT, 0.5, 1.0), (FaultKind.LATE, 0.2, 1.0)], 4: late(0.2)}
    (one,) = failed_spots(route, answers(faults, count=6))
    assert (one.first, one.last, one.effort) == (1, 4, 11110.0)
    assert one.reasons == ("late", "flat")


# ------------------------------------------------------------------------------------------------ weights and bounds


@pytest.mark.parametrize(
    ("kind", "half"),
    [
        (FaultKind.FLAT, 40.0),
        (FaultKind.SHARP, 40.0),
        (FaultKind.LATE, 200.0),
        (FaultKind.EARLY, 200.0),
        (FaultKind.UNSTEADY, 40.0),
        (FaultKind.GLIDE, 1.0),
    ],
)
def test_what_is_measured_weighs_half_a_wrong_note_at_a_middling_amount(kind, half):
    assert fault_of(kind, half) == Fault(kind, half, 0.5)
    assert fault_of(kind, 3 * half).weight == pytest.approx(0.75)


@pytest.mark.parametrize(
    ("kind", "weight"),
    [
        (FaultKind.MISSED, 1.0),
        (FaultKind.ANOTHER, 1.0),
        (FaultKind.HOLE_WRONG, 0.8),
        (FaultKind.HOLE_MISSING, 0.7),
        (FaultKind.HOLE_TOO_MANY, 0.6),
        (FaultKind.RESTART, 0.8),
        (FaultKind.PAUSE, 0.5),
        (FaultKind.EXTRA, 0.3),
        (FaultKind.SHORT, 0.3),
    ],
)
def test_what_is_not_measured_has_a_weight_of_its_own(kind, weight):
    assert fault_of(kind, 7.0) == Fault(kind, 7.0, weight)
    assert fault_of(kind).amount == 0.0


def test_the_cents_told_change_at_their_bounds():
    assert [cents_told(seconds) for seconds in (0.0, 0.0999, 0.1, 0.1399, 0.14, 60.0)] == [
        45.0,
        45.0,
        25.0,
        25.0,
        15.0,
        15.0,
    ]


@pytest.mark.parametrize(
    ("states", "missing", "wrong", "too_many"),
    [
        ({3: (True, "silent"), 5: (False, "sounds")}, (), ((3, 5),), ()),
        ({3: (True, "silent"), 6: (False, "sounds")}, (3,), (), (6,)),
        ({3: (True, "silent"), 1: (False, "sounds"), 4: (False, "sounds")}, (), ((3, 4),), (1,)),
        ({2: (True, "silent"), 3: (True, "silent"), 4: (False, "sounds")}, (3,), ((2, 4),), ()),
        ({2: (True, "unsure"), 3: (False, "unsure"), 4: (False, "silent")}, (), (), ()),
    ],
)
def test_a_silent_hole_is_in_the_place_of_the_nearest_that_sounds(states, missing, wrong, too_many):
    found = holes_heard([ReedHeard(hole, asked, ReedState(state)) for hole, (asked, state) in states.items()])
    assert (found.missing, found.wrong, found.too_many) == (missing, wrong, too_many)


def condition(**changes):
    return Condition(**{"duration_seconds": 10.0, "rate": 44_100, "channels": 1, "peak": 0.5, "clipped_share": 0.0,
                        "salience": 0.9, **changes})  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "notices"),
    [
        ({}, ()),
        ({"rate": 0}, (Notice.EMPTY,)),
        ({"duration_seconds": 0.0}, (Notice.EMPTY,)),
        ({"peak": 0.0}, (Notice.SILENT,)),
        ({"peak": 0.02}, ()),
        ({"peak": 0.0199}, (Notice.QUIET,)),
        ({"duration_seconds": 1200.0}, ()),
        ({"duration_seconds": 1200.1}, (Notice.LONG,)),
        ({"duration_seconds": 1200.1, "peak": 0.0199}, (Notice.QUIET, Notice.LONG)),
    ],
)
def test_a_recording_is_told_to_be_soft_or_long_at_its_bounds(changes, notices):
    lined_up = HeardTake(built_route("4d 5d")).lined_up()
    assert notices_of(lined_up, condition(**changes)) == notices
    with_company = (*notices, Notice.COMPANY) if notices not in ((Notice.EMPTY,), (Notice.SILENT,)) else notices
    assert notices_of(lined_up, condition(**changes), company=True) == with_company

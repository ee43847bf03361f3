"""For how much of the time to the next note each one sounds, and when notes are told to be cut short."""

from __future__ import annotations

import pytest
from msgspec import structs

from reedpath.data import replace
from reedpath.listen import FaultKind, format_answer
from reedpath.listen.advice import detached_in
from reedpath.phrase import LeftOut
from reedpath.wording import load_catalogue
from support.built_routes import built_route
from support.heard_takes import HeardTake, own_level
from support.listened import perfect_event

# half a second each; of the moves next to each other those of one breath whose holes are the same or beside
ROUTE = built_route("2d 3d 3d' 4d 5d 4b 5b 6b 6b 4b 4d 5d 6d r 5d 4d", key="C", bpm=60)
MAY_RING = [0, 1, 2, 3, 5, 6, 10, 11, 13]


def take(share, *, route=ROUTE):
    """A take whose notes sound for a share of their time by their own partials, and are heard on."""
    built = HeardTake(route)
    for number, (due, end) in enumerate(zip(built.due, built.end, strict=True)):
        over = (due + share * (end - due), end + 0.12, 40.0)
        built.levels[built.placed[number].event] = own_level(
            due - 0.2, end + 0.12, dips=[(due - 0.2, due, 40.0), over]
        )
    return built


def heard(share, **options):
    (play,) = take(share, **options).answer().plays
    return play


def test_what_could_be_held_is_told_by_breath_hole_and_rest():
    events = heard(1.0).events
    places = {one.event: place for place, one in enumerate(events)}
    assert [places[one.event] for one in events if one.rings_share is not None] == MAY_RING


@pytest.mark.parametrize("share", [0.4, 0.6, 0.9])
def test_a_note_rings_as_long_as_its_own_partials_do(share):
    shares = [one.rings_share for one in heard(share).events if one.rings_share is not None]
    assert shares == pytest.approx([share] * len(MAY_RING), abs=0.03)


@pytest.mark.parametrize(("share", "is_told"), [(0.45, True), (0.7, True), (0.8, False), (1.0, False)])
def test_most_notes_cut_short_are_one_thing(share, is_told):
    play = heard(share)
    assert [one.kind for one in play.practise] == [FaultKind.DETACHED] * is_told
    assert all(not one.faults for one in play.events)


def test_notes_are_not_told_one_by_one_where_all_are_cut_short():
    built = take(0.4)
    for number in MAY_RING:
        built.placing(number, built.due[number], built.due[number] + 0.2)
        built.sounding(number, end=built.due[number] + 0.2)
    (play,) = built.answer().plays
    assert [one.kind for one in play.practise] == [FaultKind.DETACHED]


def test_few_notes_tell_nothing_nor_does_a_third_of_them():
    events = [replace(perfect_event(ROUTE, number, 0.0), rings_share=0.5) for number in range(6)]
    assert detached_in(events[:5]) == ()
    assert len(detached_in(events)) == 6
    assert detached_in([replace(one, rings_share=1.0 if one.event > 3 else 0.5) for one in events]) == ()


def test_a_source_that_asks_for_short_notes_gets_them():
    short = structs.replace(ROUTE.phrase, left_out=(LeftOut("staccato"),))
    play = heard(0.4, route=structs.replace(ROUTE, phrase=short))
    assert all(one.rings_share is None for one in play.events)
    assert play.practise == ()


def test_who_cuts_notes_short_is_told_to_let_them_ring():
    text = format_answer(take(0.45).answer(), load_catalogue("en"))
    assert (
        "- You cut the notes short, also where you could hold them: let each one ring until the next begins." in text
    )

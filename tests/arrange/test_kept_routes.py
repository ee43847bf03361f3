"""Routes to the letter: each move with what it costs and why, what is changed, other ways, surveys and retunings.

Each is compared whole with a file of `kept`; see `support.kept_texts`. Efforts are told to three decimals.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from pathlib import Path

import pytest

from reedpath.arrange import Effort, Route
from reedpath.data import replace
from reedpath.errors import ReedpathError
from reedpath.harp import format_move
from reedpath.jobs import (
    HarpChoice,
    PlayerChoice,
    RouteRequest,
    best_route,
    read_source_file,
    retunings_of,
    said_of_event,
    said_of_part,
    settled_like,
    survey_phrase,
    trade_off_of,
)
from reedpath.phrase import Metre, Part, Phrase, Tempo
from reedpath.pitch import parse_key
from support.kept_texts import assert_kept
from support.phrases import phrase_of

KEPT = Path(__file__).parent / "kept"
EXAMPLES = Path(__file__).parents[2] / "examples"
LEVELS = ("first-months", "easy", "steady", "strong", "advanced")
# invented for this test: what is hard in its own way
PHRASES = {
    "bends": "e4 1/8 g4 a4 bb4 a4 g4 e4 d4 | c#4 1/4 e4^1 g4_1 a4~ 1/2",
    "chords": "c4+e4+g4 1/4 e4+g4 1/8 g4+b4 d4+g4+b4 1/4 | c4+c5 1/4 e4+e5 d4 1/8 c4",
    "fast": "c4 1/16 d4 e4 f4 g4 a4 b4 c5 d5 e5 f5 g5 a5 b5 c6 d6 | e6 1/4 g5 c5 c4",
    "figure": "e4 1/8 g4 b4 d5 e4 g4 b4 d5 | e4 g4 b4 d5 c5 a4 f4 d4 | e4 g4 b4 d5",
    "graces": "<d4>e4 1/4 <f4>g4! 1/8 a4 <b4>c5 1/4 | f#4 ab4 1/8 c#5 eb5 1/2",
    "long": "c5 2 d5 2 e5 2 d5 2 b4 2 a4 2",
    "low and high": "c3 1/4 g3 c6 e6 g6 c7 | f#6 1/8 d#6 bb3 ab3",
    "rests": "g4 1/8 r 1/8 g4 r g4 r 1/4 | a4 1/8 r 3/8 b4 1/2",
}


def phrases() -> dict[str, Phrase]:
    found = {name: replace(phrase_of(text, key="C"), title=name) for name, text in PHRASES.items()}
    found["fast"] = replace(found["fast"], tempos=(Tempo(Fraction(0), 160.0),))
    found["long"] = replace(found["long"], metres=(Metre(Fraction(0), 6, 8),), key=parse_key("Am"))
    found["figure"] = replace(
        found["figure"], parts=(Part("A", Fraction(0), Fraction(4)), Part("B", Fraction(4), Fraction(10)))
    )
    return found


def terms(effort: Effort) -> str:
    told = ", ".join(f"{name} {points:.3f}" for name, points in sorted(effort.terms.items()) if abs(points) >= 0.0005)
    return f"{effort.total:.3f} ({told})"


def told_route(route: Route) -> Iterable[str]:
    yield (
        f"{route.harp.name} position {route.position} shift {route.shift_semitones} truth {route.truth:.4f} "
        f"comfortable {route.comfortable:.4f} first {route.breathe_first} level {route.level!r} {terms(route.effort)}"
    )
    for one in route.events:
        choice = one.choice
        move = "-" if choice.move is None else format_move(choice.move, "sign")
        leads = "".join(f" in {format_move(lead, 'sign')}" for lead in choice.lead_in)
        leads += "".join(f" out {format_move(lead, 'sign')}" for lead in choice.lead_out)
        changes = "".join(
            f" {change.kind} {change.asked_midi}>{change.given_midi} {change.loss:.3f}" for change in choice.changes
        )
        yield (
            f"  {one.event.onset} {move} {choice.attack_semitones:g} {choice.fall_semitones:g}{leads}{changes}"
            f"{' breath' if one.breathe_before else ''} {terms(one.effort)}"
        )
    for spot in route.spots:
        yield f"  spot {spot.first}-{spot.last} {spot.effort:.3f} {spot.reasons}"
    for unlike in route.unlike:
        yield f"  unlike {unlike.events} {unlike.adds:.3f}"


@pytest.mark.slow
def test_the_best_route_of_each_phrase_at_each_level() -> None:
    told = []
    for at, (name, phrase) in enumerate(phrases().items()):
        for level in (LEVELS[at % 5], LEVELS[(at + 2) % 5]):
            request = RouteRequest(HarpChoice(("C", "G", "A")[at % 3]), player=PlayerChoice(level))
            told += [f"# {name}, {level}", *told_route(best_route(phrase, request))]
    for path in sorted(EXAMPLES.iterdir()):
        read = read_source_file(path)
        told += [f"# {path.name}", *told_route(best_route(read.phrase, RouteRequest(HarpChoice("A")), read.typed))]
    assert_kept(KEPT / "routes.txt", "\n".join(told) + "\n")


@pytest.mark.slow
def test_the_last_word_other_ways_and_the_trade_off() -> None:
    told = []
    for name in ("bends", "figure", "chords", "graces"):
        phrase = phrases()[name]
        request = RouteRequest(HarpChoice("C"), player=PlayerChoice("steady"))
        route = best_route(phrase, request)
        told.append(f"# {name}: other ways")
        for index, ways in enumerate(settled_like(phrase, route, request).others(route)):
            for one in ways:
                kinds = [str(change.kind) for change in one.changes]
                told.append(f"  {index} {format_move(one.move, 'sign')} {one.adds:.3f} {kinds} {one.beyond_level}")
        told.append(f"# {name}: easier and truer")
        for one in trade_off_of(phrase, route, request):
            moves = " ".join("-" if e.choice.move is None else format_move(e.choice.move, "sign") for e in one.events)
            told.append(f"  {one.harp.name} {one.shift_semitones} {one.effort.total:.3f} {one.truth:.4f} {moves}")
    phrase, request = phrases()["figure"], RouteRequest(HarpChoice("C"))
    for said in ("1=5", "1=2", "2=-9", "9=99", "2:1=+2"):
        for avoid in (False, True):
            told.append(f"# {'avoid' if avoid else 'pin'} {said}")
            try:
                one = replace(request, said=(said_of_event(said, avoid=avoid),))
                told += told_route(best_route(phrase, one))
            except ReedpathError as error:
                told.append(f"  refused: {error}")
    for said in ("A=octaves", "A=plain", "C=plain", "A=nothing"):
        told.append(f"# technique {said}")
        try:
            one = replace(request, techniques=(said_of_part(said),))
            told += told_route(best_route(phrase, one))
        except ReedpathError as error:
            told.append(f"  refused: {error}")
    assert_kept(KEPT / "last-word.txt", "\n".join(told) + "\n")


@pytest.mark.parametrize("any_key", [False, True])
def test_what_plays_each_phrase_best(any_key: bool) -> None:
    told = []
    for at, (name, phrase) in enumerate(phrases().items()):
        request = RouteRequest(any_key=any_key, player=PlayerChoice(LEVELS[at % 5]), owned=("C", "A", "Low F"))
        if at % 2:
            request = replace(request, harp=HarpChoice(tunings=("standard", "raised-5-draw")))
        found = survey_phrase(phrase, request, top=5)
        told.append(f"# {name}: {found.cases} {found.exact}")
        for one in found.ranked:
            held = ", ".join(f"{key} {points:.3f}" for key, points in sorted(one.held_back.items()))
            told.append(
                f"  {one.harp.name} {one.harp.tuning.name} {one.position} {one.shift_semitones} {one.score:.3f} "
                f"{one.effort.total:.3f} {one.worst:.3f} {one.truth:.4f} {one.custom:.3f} [{held}] {len(one.also)}"
            )
    assert_kept(KEPT / f"surveys{'-any-key' if any_key else ''}.txt", "\n".join(told) + "\n")


@pytest.mark.slow
def test_which_retuning_makes_a_phrase_easier() -> None:
    told = []
    for name, reeds in (("bends", 1), ("graces", 1)):
        harp, found = retunings_of(phrases()[name], RouteRequest(HarpChoice("C")), reeds=reeds, top=4)
        told.append(f"# {name}: {harp.name} {found.points:.3f} {found.searched}")
        for one in found.ranked:
            told.append(
                f"  {[str(change) for change in one.changes]} {one.points:.3f} {one.saves:.3f} {one.tuning.name}"
            )
    assert_kept(KEPT / "retunings.txt", "\n".join(told) + "\n")

"""Showing surveys and routes on the terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from reedpath.arrange import Ranked, Route, Unlike, route_as_data, survey_as_data
from reedpath.cli.printing import catalogue_for, print_data, print_left_out, print_line, print_table
from reedpath.data import as_plain
from reedpath.harp import Breath, format_move
from reedpath.jobs import (
    ReadPhrase,
    RouteRequest,
    best_route,
    settled_like,
    survey_phrase,
    surveyed_as_typed,
    trade_off_of,
)
from reedpath.phrase import Phrase, numbered_bars
from reedpath.wording import Catalogue, harp_words, key_words, position_words, shift_words, tuning_words

if TYPE_CHECKING:
    from reedpath.arrange import OtherWay

# points below which a reason is not worth a word, as the table rounds
LEAST_TOLD_POINTS = 0.05


def _position(position: int | None, catalogue: Catalogue) -> str:
    return "–" if position is None else position_words(position, catalogue)


def _line(rank: str, line: Ranked, phrase: Phrase, catalogue: Catalogue) -> list[str]:
    key = phrase.key.moved(line.shift_semitones) if phrase.key else None
    return [
        rank,
        harp_words(line.harp, catalogue),
        tuning_words(line.harp.tuning, catalogue),
        _position(line.position, catalogue),
        key_words(key, catalogue),
        shift_words(line.shift_semitones, catalogue),
        catalogue.number(line.effort.total, decimals=1),
        catalogue.number(line.worst, decimals=1),
        catalogue.number(line.truth, decimals=2),
        _held_back(line, catalogue),
    ]


def _held_back(line: Ranked, catalogue: Catalogue) -> str:
    """What sets a line back beside its effort, the heaviest first: "changes 10; an octave up 2.4"."""
    words = {
        "octave": shift_words(line.shift_semitones, catalogue),
        "position": "" if line.position is None else position_words(line.position, catalogue),
    }
    reasons = sorted(line.held_back.items(), key=lambda item: -item[1])
    return "; ".join(
        f"{words.get(name) or catalogue.say(f'held_back.{name}')} {catalogue.number(points, decimals=1)}"
        for name, points in reasons
        if points >= LEAST_TOLD_POINTS
    )


def show_survey(read: ReadPhrase, request: RouteRequest, *, top: int, language: str | None, json: bool) -> None:
    """Print what plays a phrase best, or the same as data."""
    found = survey_phrase(read.phrase, request, top=top)
    typed = surveyed_as_typed(read.phrase, request, read.typed)
    if json:
        print_data(survey_as_data(found, typed) | {"left_out": as_plain(read.phrase.left_out)})
        return
    catalogue = catalogue_for(language)
    title = read.phrase.title
    print_line(catalogue.say("survey.title", title=title) if title else catalogue.say("survey.untitled"))
    print_line()
    names = ("rank", "harp", "tuning", "position", "key", "shift", "effort", "worst", "truth", "held_back")
    head = [catalogue.say(f"survey.{name}") for name in names]
    lines = [_line(str(rank), line, read.phrase, catalogue) for rank, line in enumerate(found.ranked, start=1)]
    if typed is not None:
        lines.append(_line(catalogue.say("survey.typed"), typed, read.phrase, catalogue))
    print_table([head, *lines], right=(0, 6, 7, 8))
    print_line()
    print_line(catalogue.say("survey.legend"))
    print_left_out(read.phrase.left_out, catalogue)


def _change_lines(route: Route, catalogue: Catalogue) -> list[str]:
    if not route.changes:
        return []
    from reedpath.page import change_words
    from reedpath.wording import bars_words

    numbered = numbered_bars(route.phrase)
    lines = []
    for index, change in route.changes:
        place = bars_words([numbered.at(route.events[index].event.onset)], catalogue)
        lines.append(catalogue.sentence(change_words(change, place, catalogue, spelt=route.fifths(index))))
    return lines


def _why(route: Route, notation: str, catalogue: Catalogue) -> list[list[str]]:
    head = [catalogue.say(f"route.{name}") for name in ("event", "beat", "asked", "move", "effort", "why")]
    rows = [head]
    for index, one in enumerate(route.events, start=1):
        terms = sorted(one.effort.terms.items(), key=lambda item: -item[1])
        spelt = route.fifths(index - 1)
        why = ", ".join(
            f"{catalogue.say(f'term.{name}')} {catalogue.number(points, decimals=2)}" for name, points in terms
        )
        rows.append([
            str(index),
            str(one.event.onset),
            " ".join(catalogue.note_with_octave(midi, spelt=spelt) for midi in one.event.midi),
            "–" if one.choice.move is None else format_move(one.choice.move, notation),
            catalogue.number(one.effort.total, decimals=2),
            why,
        ])  # fmt: skip
    return rows


def _unlike_words(unlike: Unlike, catalogue: Catalogue) -> str:
    """Why a place of a figure is not fingered as it was before."""
    first, *again = (str(event + 1) for event in unlike.events)
    points = catalogue.say("route.effort_points", count=round(unlike.adds, 1))
    return catalogue.say("route.unlike", first=first, again=catalogue.join(again), points=points)


def _summary(route: Route, catalogue: Catalogue) -> str:
    position = () if route.position is None else (position_words(route.position, catalogue),)
    return ", ".join([
        harp_words(route.harp, catalogue),
        *position,
        shift_words(route.shift_semitones, catalogue),
        catalogue.say("route.effort_points", count=round(route.effort.total, 1)),
        catalogue.say("route.truth", truth=round(route.truth, 2)),
    ])  # fmt: skip


def _other_words(other: OtherWay, notation: str, catalogue: Catalogue) -> str:
    sign = "+" if other.adds >= 0 else "−"
    points = f"{sign}{catalogue.number(abs(other.adds), decimals=2)}"
    told = [catalogue.say(f"change.{change.kind}") for change in other.changes]
    told += [catalogue.say("route.beyond_level")] if other.beyond_level else []
    return f"{format_move(other.move, notation)} {points}{f' ({catalogue.join(told)})' if told else ''}"


def _others(
    route: Route, others: tuple[tuple[OtherWay, ...], ...], notation: str, catalogue: Catalogue
) -> list[list[str]]:
    rows = [[catalogue.say(f"route.{name}") for name in ("event", "beat", "move", "others")]]
    for index, (one, ways) in enumerate(zip(route.events, others, strict=True), start=1):
        told = "   ".join(_other_words(other, notation, catalogue) for other in ways)
        move = "–" if one.choice.move is None else format_move(one.choice.move, notation)
        rows.append([str(index), str(one.event.onset), move, told or "–"])
    return rows


class RouteView(Struct, frozen=True):
    """What of a route is to be shown beside its tab.

    notation : of the tab; what is said of events is read in it first.
    others : the other moves of every event.
    trade_off : easier and truer routes.
    why : where the effort comes from.
    """

    notation: str = "sign"
    others: bool = False
    trade_off: bool = False
    why: bool = False


class _Shown(Struct, frozen=True):
    """A route with what is asked for beside it."""

    route: Route
    others: tuple[tuple[OtherWay, ...], ...] = ()
    trade_off: tuple[Route, ...] = ()


def _found(read: ReadPhrase, request: RouteRequest, view: RouteView) -> _Shown:
    request = replace(request, notation=view.notation)
    route = best_route(read.phrase, request, read.typed)
    others = settled_like(read.phrase, route, request, read.typed).others(route) if view.others else ()
    return _Shown(route, others, trade_off_of(read.phrase, route, request) if view.trade_off else ())


def _as_data(read: ReadPhrase, shown: _Shown, view: RouteView) -> dict[str, object]:
    data = route_as_data(shown.route) | {"left_out": as_plain(read.phrase.left_out)}
    if view.others:
        from reedpath.arrange import others_as_data

        listed = others_as_data(shown.others, shown.route.harp)
        data["events"] = [one | {"others": others} for one, others in zip(data["events"], listed, strict=True)]
    return data | ({"trade_off": [route_as_data(one) for one in shown.trade_off]} if view.trade_off else {})


def show_route(read: ReadPhrase, request: RouteRequest, view: RouteView, *, language: str | None, json: bool) -> None:
    """Print the best way to play a phrase, or the same as data."""
    from reedpath.page import format_tab

    shown = _found(read, request, view)
    route, notation = shown.route, view.notation
    if json:
        print_data(_as_data(read, shown, view))
        return
    catalogue = catalogue_for(language)
    print_line(format_tab(route, notation=notation, catalogue=catalogue))
    print_line(_summary(route, catalogue))
    if route.breathe_first is not None:
        print_line(catalogue.say(f"route.first_{'out' if route.breathe_first is Breath.BLOW else 'in'}"))
    print_line()
    changed = _change_lines(route, catalogue)
    print_line(catalogue.say("route.changes") if changed else catalogue.say("route.no_changes"))
    for line in changed:
        print_line(f"  {line}")
    print_left_out(read.phrase.left_out, catalogue)
    if view.why:
        print_line()
        print_table(_why(route, notation, catalogue), right=(0, 1, 4))
        for place in route.unlike:
            print_line(_unlike_words(place, catalogue))
    if view.others:
        print_line()
        print_table(_others(route, shown.others, notation, catalogue), right=(0, 1))
    if view.trade_off:
        print_line()
        print_line(catalogue.say("route.trade_off"))
        for one in shown.trade_off:
            moves = " ".join(
                "–" if e.choice.move is None else format_move(e.choice.move, notation) for e in one.events
            )
            print_line(f"  {_summary(one, catalogue)}")
            print_line(f"    {moves}")

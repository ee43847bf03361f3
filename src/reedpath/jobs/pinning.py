"""Pinning: what a person's words on events and parts mean, on the harp and in the phrase that they are said of."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from fractions import Fraction

from msgspec import Struct

from reedpath.arrange import Pin, Route
from reedpath.errors import NotationError, Place, ReedpathError, SettingsError
from reedpath.harp import Move, Tuning, check_move, format_move, notation_names, parse_move, pitches_of, reach_of
from reedpath.phrase import Bar, PrintedBar, bar_place, bars, numbered_bars

# "7", "2:3", "2 (2):3", "2:3.5", "2:3+1/3", "2:3&": an event's number, or bar (and the time it is played) and beat
_EVENT = re.compile(r"(?P<number>\d{1,6})")
_BEAT = re.compile(
    r"(?P<bar>\d{1,5})\s*(?:\((?P<turn>\d{1,3})\)\s*)?:\s*(?P<beat>\d{1,3})(?:(?P<decimals>[.,]\d{1,6})|\+(?P<part>\d{1,3}/\d{1,3})|(?P<said>[e&a]))?"
)
# how the quarters of a counted beat are said: "1 e & a" (common practice, no source)
_SAID = {"e": Fraction(1, 4), "&": Fraction(1, 2), "a": Fraction(3, 4)}
# semitones
OCTAVE = 12


class Said(Struct, frozen=True):
    """What is said of one event.

    event : its number from 1, or its bar as the source numbers it and the beat in it.
    move : the move as it was typed.
    avoid : whether it is not to be played so.
    turn : which time the bar is played.
    """

    event: int | tuple[int, Fraction]
    move: str
    avoid: bool = False
    turn: int = 1

    @property
    def typed(self) -> str:
        """The option that says so."""
        if isinstance(self.event, int):
            event = str(self.event)
        else:
            bar, beat = self.event
            event = f"{bar}{'' if self.turn == 1 else f' ({self.turn})'}:{_beat_text(beat)}"
        return f"--{'avoid' if self.avoid else 'pin'} {event}={self.move}"


class TechniqueSaid(Struct, frozen=True):
    """How a whole part is to be played.

    part : its label.
    technique : "octaves", or "plain".
    """

    part: str
    technique: str


def _beat_text(beat: Fraction) -> str:
    whole, rest = divmod(beat, 1)
    said = next((sign for sign, share in _SAID.items() if share == rest), None)
    return f"{whole}{'' if not rest else said or f'+{rest}'}"


def said_of_event(text: str, *, avoid: bool) -> Said:
    """What "7=-3'" or "2:3&=-3'" says of an event; a SettingsError where it says nothing."""
    event, equals, move = (piece.strip() for piece in text.partition("="))
    number, beat = _EVENT.fullmatch(event), _BEAT.fullmatch(event)
    if not (equals and move and (number or beat)):
        raise SettingsError("jobs.nothing_pinned", option="--avoid" if avoid else "--pin", text=text)
    if number:
        return Said(int(number["number"]), move, avoid)
    assert beat is not None
    place = Fraction(beat["beat"]) + _SAID.get(beat["said"] or "", Fraction(0))
    try:
        place += Fraction((beat["decimals"] or "0").replace(",", ".")) + Fraction(beat["part"] or 0)
    except ZeroDivisionError:
        raise SettingsError("jobs.nothing_pinned", option="--avoid" if avoid else "--pin", text=text) from None
    return Said((int(beat["bar"]), place), move, avoid, int(beat["turn"] or 1))


def said_of_part(text: str) -> TechniqueSaid:
    """What "B=octaves" says of a part; a SettingsError where it says nothing."""
    part, equals, technique = (piece.strip() for piece in text.rpartition("="))
    if not (equals and part and technique):
        raise SettingsError("jobs.no_technique_said", text=text, names=tuple(TECHNIQUES))
    if technique not in TECHNIQUES:
        raise SettingsError("jobs.unknown_technique", name=technique, names=tuple(TECHNIQUES))
    return TechniqueSaid(part, technique)


# ------------------------------------------------------------------------------------------------- events


def _counted(found: tuple[Bar, ...], onset: Fraction) -> Fraction:
    """The counted beat, from 1, of a moment in its bar: as the tab counts it."""
    metre = found[max(0, bisect_right(found, onset, key=lambda bar: bar.onset) - 1)].metre
    return bar_place(found, onset).beats * metre.unit / 4 + 1


def _main_events(route: Route) -> Iterator[tuple[int, Fraction]]:
    """Index of each event but grace notes, and the beat at which it is written."""
    since: Fraction | None = None
    for index, one in enumerate(route.events):
        since = one.event.onset if since is None else since
        if not one.event.grace:
            yield index, since
            since = None


def _event_at(route: Route, bar: PrintedBar, beat: Fraction) -> int:
    found, numbered = bars(route.phrase), numbered_bars(route.phrase)
    places: dict[tuple[PrintedBar, Fraction], int] = {}
    for index, onset in _main_events(route):
        places.setdefault((numbered.at(onset), _counted(found, onset)), index)
    if (bar, beat) not in places:
        named = bar.mark or str(bar.number)
        there = [_beat_text(one) for number, one in places if number == bar]
        if not there:
            last = max(one.number for one in numbered.printed)
            raise SettingsError("jobs.nothing_in_bar", bar=named, last=last)
        raise SettingsError("jobs.no_event_at", bar=named, beat=_beat_text(beat), beats=there)
    return places[bar, beat]


# -------------------------------------------------------------------------------------------------- moves


def _read(text: str, notation: str, tuning: Tuning) -> Move | NotationError:
    try:
        move = parse_move(text, notation, tuning=tuning)
        check_move(move, tuning)
    except NotationError as error:
        return error
    return move


def _move(text: str, notation: str, tuning: Tuning) -> Move:
    """The move of a text in the notation asked for, else in any other."""
    own = _read(text, notation, tuning)
    if isinstance(own, Move):
        return own
    others = [_read(text, name, tuning) for name in notation_names() if name != notation]
    moves = list(dict.fromkeys(one for one in others if isinstance(one, Move)))
    if len(moves) > 1:
        raise SettingsError("jobs.move_unsure", text=text, moves=[format_move(move, notation) for move in moves])
    if not moves:
        # of all that was wrong, what is nearest to a move of the harp says most
        nearest = next((one for one in (own, *others) if isinstance(one, NotationError) and one.where.hole), own)
        raise SettingsError.like(nearest)
    return moves[0]


# --------------------------------------------------------------------------------------------- techniques


def _octaves(route: Route, index: int) -> Pin | None:
    """The tongue-blocked octaves that sound a single note and the one above or below, where there are any."""
    tuning, event = route.harp.tuning, route.events[index].event
    if len(event.midi) != 1:
        return None
    note = event.midi[0] - route.harp.key_midi
    found = [
        move
        for move in reach_of(tuning).multiple
        if move.is_split and sorted(pitches_of(tuning, move)) in ([note, note + OCTAVE], [note - OCTAVE, note])
    ]
    return Pin(index, found[0], tuple(found[1:])) if found else None


def _plain(route: Route, index: int) -> Pin | None:
    """Not bent and not overblown, where the note is there otherwise."""
    tuning, event = route.harp.tuning, route.events[index].event
    moves = reach_of(tuning).moves_for(*(midi - route.harp.key_midi for midi in event.midi))
    altered = [move for move in moves if move.alteration != "natural"]
    return Pin(index, altered[0], tuple(altered[1:]), avoid=True) if 0 < len(altered) < len(moves) else None


# how a part may be played: what it means for one event of a route
TECHNIQUES = {"octaves": _octaves, "plain": _plain}


def _part_events(route: Route, label: str) -> list[int]:
    """Indexes of the events in the parts of that label, those that repeat them included."""
    from reedpath.lesson import parts_of  # what says nothing of parts enters no lesson

    parts = parts_of(route)
    wanted = label.casefold()
    named = {index for index, part in enumerate(parts) if part.label.casefold() == wanted}
    if not named:
        raise SettingsError("jobs.no_part", label=label, labels=list(dict.fromkeys(part.label for part in parts)))
    same = [one for index, one in enumerate(parts) if index in named or one.same_as in named]
    return [event for part in same for event in range(part.first, part.last + 1)]


def _technique_pins(route: Route, said: TechniqueSaid, taken: set[int]) -> list[Pin]:
    made = (
        TECHNIQUES[said.technique](route, index) for index in _part_events(route, said.part) if index not in taken
    )
    pins = [pin for pin in made if pin is not None]
    if not pins:
        raise SettingsError("jobs.technique_plays_nothing", label=said.part, technique=said.technique)
    return pins


def pins_of(
    route: Route, said: Sequence[Said], techniques: Sequence[TechniqueSaid] = (), *, notation: str = "sign"
) -> tuple[Pin, ...]:
    """The pins that are meant.

    route : of the same phrase on the same harp, without pins.
    said : of events; they count more than what is said of the part that an event is in.
    techniques : how whole parts are to be played.
    notation : in which moves are read first.

    Raises `SettingsError` for an event, a move or a part that is not there, naming what was said.
    """
    pins: list[Pin] = []
    for one in said:
        try:
            if isinstance(one.event, int):
                event = one.event - 1
            else:
                event = _event_at(route, PrintedBar(one.event[0], one.turn), one.event[1])
            pins.append(Pin(event, _move(one.move, notation, route.harp.tuning), avoid=one.avoid))
        except ReedpathError as error:
            raise error.inside(Place(field=one.typed)) from None
    taken = {pin.event for pin in pins}
    for technique in techniques:
        found = _technique_pins(route, technique, taken)
        taken |= {pin.event for pin in found}
        pins += found
    return tuple(pins)

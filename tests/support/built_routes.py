"""Routes and lessons typed by hand, for tests of what is done with a route (the search is not asked).

    built_route("2d 3d' 4b:1 r:1/2 (123)d 2d>3d", key="C")

A token is a hole (several in brackets) with ``b`` blow or ``d`` draw, marks for a bend, ``o`` for an overbend,
then after a colon its length in beats (1/2 unless said); ``r`` is a rest. Marks after the length:
``!`` accent, ``~`` vibrato, ``^k`` attacked bent by k semitones, ``_k`` pressed down by k, ``g`` grace.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction

from msgspec.structs import replace

from reedpath.arrange import Choice, Effort, Route, RouteEvent
from reedpath.errors import Place
from reedpath.harp import Alteration, Breath, Embouchure, Harp, Move, make_harp, midi_of, natural_semitones
from reedpath.lesson import Lesson, LessonPart, Rung
from reedpath.phrase import Event, Metre, Ornaments, Phrase, Tempo
from reedpath.pitch import Key

TOKEN = re.compile(
    r"(?P<holes>\d+|\([\d ]+\)|\[[\d ]+\])(?P<breath>[bd])(?P<bend>'*)(?P<over>o?)"
    r"(?::(?P<beats>[\d/]+))?(?P<marks>(?:[!~g]|\^\d|_\d)*)"
)
REST = re.compile(r"r(?::(?P<beats>[\d/]+))?")


def _move(match: re.Match[str], harp: Harp) -> Move:
    text = match["holes"]
    holes = tuple(int(one) for one in text.strip("()[]").split()) if text[0] in "([" else (int(text),)
    breath = Breath.BLOW if match["breath"] == "b" else Breath.DRAW
    embouchure = Embouchure.TONGUE if text[0] == "[" else Embouchure.PUCKER
    if match["over"]:
        own = natural_semitones(harp.tuning, holes[0], breath)
        other = natural_semitones(harp.tuning, holes[0], breath.other)
        kind = Alteration.OVERBLOW if breath is Breath.BLOW else Alteration.OVERDRAW
        return Move(holes, breath, kind, other + 1 - own, embouchure)
    if match["bend"]:
        return Move(holes, breath, Alteration.BEND, -len(match["bend"]), embouchure)
    return Move(holes, breath, embouchure=embouchure)


def built_route(
    text: str,
    *,
    key: str = "C",
    harp: Harp | None = None,
    bpm: float = 100.0,
    swing: Fraction = Fraction(1),
    metres: Sequence[Metre] = (),
    tempos: Sequence[Tempo] = (),
    pickup: Fraction = Fraction(0),
    music_key: Key | None = None,
) -> Route:
    """The route that the tokens say, on the harp of that key."""
    instrument = harp or make_harp(key)
    at, events = Fraction(0), []
    for token in re.findall(r"[\(\[][^)\]]*[\)\]]\S*|\S+", text):
        rest = REST.fullmatch(token)
        if rest:
            at += Fraction(rest["beats"] or "1/2")
            continue
        match = TOKEN.fullmatch(token)
        assert match, f"unreadable token {token!r}"
        move, beats, marks = _move(match, instrument), Fraction(match["beats"] or "1/2"), match["marks"]
        bent, fallen = re.search(r"\^(\d)", marks), re.search(r"_(\d)", marks)
        event = Event(
            at,
            beats,
            tuple(sorted(set(midi_of(instrument, move)))),
            Ornaments(vibrato="~" in marks, accent="!" in marks),
            grace="g" in marks,
        )
        choice = Choice(
            move,
            attack_semitones=-int(bent[1]) if bent else 0,
            fall_semitones=-int(fallen[1]) if fallen else 0,
        )
        events.append(RouteEvent(event, choice, Effort()))
        at += beats
    phrase = Phrase(
        tuple(one.event for one in events),
        title="typed by hand",
        metres=tuple(metres),
        tempos=tuple(tempos) or (Tempo(Fraction(0), bpm),),
        key=music_key,
        swing=swing,
        pickup=pickup,
    )
    return Route(phrase, instrument, 2, 0, tuple(events), 1.0)


def built_lesson(route: Route, *, factors: Sequence[float] = (0.5, 0.75, 1.0)) -> Lesson:
    """A lesson of one part with that route and ladder."""
    bpm = route.phrase.tempos[0].bpm
    ladder = tuple(Rung(f"rung {index}", factor, bpm * factor) for index, factor in enumerate(factors))
    parts = (LessonPart("A", 0, max(0, len(route.events) - 1)),) if route.events else ()
    return Lesson(route.phrase.title, route, parts, ladder, (), "sign", ("en",))


def in_source_bars(route: Route, bars: Sequence[int]) -> Route:
    """The route with each event placed in this bar of its source."""
    events = tuple(replace(event, place=Place(bar=bar)) for event, bar in zip(route.phrase.events, bars, strict=True))
    ways = tuple(replace(one, event=event) for one, event in zip(route.events, events, strict=True))
    return replace(route, phrase=replace(route.phrase, events=events), events=ways)

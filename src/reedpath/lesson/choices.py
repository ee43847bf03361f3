"""What a person decides of a lesson beside its words: tempos, drills, the order of its pieces.

What she decided is told from what the program made by making that again from the route: where it differs, it is hers,
and it stays when the lesson is made anew of other moves.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise

from msgspec import Struct
from msgspec.structs import replace

from reedpath.arrange import Route, Spot
from reedpath.errors import SettingsError
from reedpath.lesson.drills import TIMES, drills_of
from reedpath.lesson.ladder import RUNG_NAMES, ladder_of, rungs_up_to, spot_ladder
from reedpath.lesson.model import Drill, Lesson, LessonPart, Rung
from reedpath.lesson.pieces import LessonOfPieces, Piece, checked_pieces
from reedpath.phrase import metre_at, practice_beat

# a number that leads the name of a piece's folder
_NUMBERED = re.compile(r"^\d+-")


class DrillWish(Struct, frozen=True):
    """A drill as a person wants it: its first and last event, how often at each tempo, and its tempos below full in
    counted beats a minute; none for those that the program finds.
    """

    first: int
    last: int
    times: int = TIMES
    tempos: tuple[float, ...] = ()


def has_own_tempos(lesson: Lesson) -> bool:
    """Whether a person chose the tempos."""
    return lesson.ladder != ladder_of(lesson.route)


def has_own_drills(lesson: Lesson) -> bool:
    """Whether a person chose the drills."""
    return lesson.drills != drills_of(lesson.route, lesson.parts)


def kept_choices(
    lesson: Lesson, route: Route, parts: Sequence[LessonPart]
) -> tuple[tuple[Rung, ...], tuple[Drill, ...]]:
    """Tempos and drills of a lesson for another route of its phrase: a person's own, else made anew."""
    own = lesson.drills if has_own_drills(lesson) and _all_played(route, lesson.drills) else None
    ladder = lesson.ladder if has_own_tempos(lesson) else ladder_of(route)
    return ladder, drills_of(route, parts) if own is None else own


def _all_played(route: Route, drills: Sequence[Drill]) -> bool:
    ends = (route.events[index] for drill in drills for index in (drill.spot.first, drill.spot.last))
    return all(one.choice.move is not None for one in ends)


def _ladder(full: Rung, beat: float, tempos: Sequence[float]) -> tuple[Rung, ...]:
    """Tempos in counted beats a minute as a ladder up to full tempo.

    Raises `SettingsError` for more than a ladder has, and for those that do not rise or reach full tempo.
    """
    most = max(RUNG_NAMES) - 1
    highest = full.bpm / beat
    if len(tempos) > most:
        raise SettingsError("lesson.too_many_tempos", count=len(tempos), most=most)
    if any(later <= before for before, later in pairwise((0.0, *tempos, highest))):
        raise SettingsError("lesson.tempos_do_not_rise", tempos=list(tempos), full=round(highest, 1))
    return rungs_up_to(full.bpm, beat, tempos)


def _beat(lesson: Lesson, first: int) -> float:
    """Quarter notes of a counted beat where an event begins; the phrase, for the first."""
    events, phrase = lesson.route.events, lesson.route.phrase
    return float(practice_beat(metre_at(phrase, events[first].event.onset if first else phrase.pickup)))


def with_tempos(lesson: Lesson, tempos: Sequence[float] | None) -> Lesson:
    """The lesson with other tempos below full tempo, in counted beats a minute; the program's for None."""
    made = ladder_of(lesson.route)
    return replace(lesson, ladder=made if tempos is None else _ladder(made[-1], _beat(lesson, 0), tempos))


def _drill(lesson: Lesson, wish: DrillWish) -> Drill:
    events = lesson.route.events
    if not 0 <= wish.first <= wish.last < len(events):
        raise SettingsError("lesson.no_such_stretch", first=wish.first + 1, last=wish.last + 1, count=len(events))
    if any(events[index].choice.move is None for index in (wish.first, wish.last)):
        raise SettingsError("lesson.drill_of_nothing", first=wish.first + 1, last=wish.last + 1)
    known = next((one for one in _spots(lesson) if (one.first, one.last) == (wish.first, wish.last)), None)
    effort = sum(one.effort.total for one in events[wish.first : wish.last + 1])
    spot = known or Spot(wish.first, wish.last, effort, ())
    ladder = spot_ladder(lesson.route, spot.first, spot.last)
    if wish.tempos:
        ladder = _ladder(ladder[-1], _beat(lesson, spot.first), wish.tempos)
    return Drill(spot, wish.times, ladder)


def _spots(lesson: Lesson) -> tuple[Spot, ...]:
    """Spots of which it is known why they are hard."""
    drills = (*lesson.drills, *drills_of(lesson.route, lesson.parts))
    return (*(drill.spot for drill in drills), *lesson.route.spots)


def with_drills(lesson: Lesson, wishes: Sequence[DrillWish] | None) -> Lesson:
    """The lesson with these drills, in that order; the program's for None.

    Raises `SettingsError` for a stretch that is not there or begins or ends where nothing is played, and for tempos
    that do not rise.
    """
    if wishes is None:
        return replace(lesson, drills=drills_of(lesson.route, lesson.parts))
    return replace(lesson, drills=tuple(_drill(lesson, wish) for wish in wishes))


def _numbered(piece: Piece, number: int) -> str:
    return _NUMBERED.sub(f"{number}-", piece.folder)


def in_order(lesson: LessonOfPieces, order: Sequence[int]) -> LessonOfPieces:
    """The lesson with its pieces in another order, and without those that are not named.

    What is said before a piece goes with it; numbers that lead the names of folders follow the order.

    order : indexes of pieces, each once.

    Raises `SettingsError` for an index that is not there or comes twice, and where a variant would stand before or
    without its piece.
    """
    if len(set(order)) != len(order) or not set(order) <= set(range(len(lesson.pieces))) or not order:
        raise SettingsError("lesson.no_such_order", order=[one + 1 for one in order], count=len(lesson.pieces))
    place = {old: new for new, old in enumerate(order)}
    pieces = []
    for old in order:
        piece = lesson.pieces[old]
        if piece.variant_of is not None and place.get(piece.variant_of, len(order)) > place[old]:
            raise SettingsError("lesson.variant_before_piece", name=piece.lesson.title)
        of = None if piece.variant_of is None else place[piece.variant_of]
        pieces.append(replace(piece, folder=_numbered(piece, place[old] + 1), variant_of=of))
    words = tuple(
        one if one.place.piece is None else replace(one, place=replace(one.place, piece=place[one.place.piece]))
        for one in lesson.own_words
        if one.place.piece is None or one.place.piece in place
    )
    kept = [place[one] for one in lesson.play_through if one in place]
    is_written_order = list(lesson.play_through) == sorted(lesson.play_through)
    played = tuple(sorted(kept) if is_written_order else kept)
    return checked_pieces(
        replace(lesson, pieces=tuple(pieces), own_words=words, play_through=played if len(set(played)) > 1 else ())
    )

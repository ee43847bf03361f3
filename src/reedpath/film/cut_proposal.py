"""What is proposed to stay of raw footage, and in which order.

A teacher who films herself plays a stretch until it is good, and talks in between. Of play-throughs of the same
stretch at the same tempo the best stays. Her talk before the first of them, and after the last of all, stays; what
she says between two tries goes with the others, and so do silence and all that is neither talk nor the lesson.

As filmed, play-throughs are of the same where they follow each other, and all keep their order. As taught, they are
of the same wherever in the footage they are, and what stays goes part by part, slow to full, and then joined.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from typing import TYPE_CHECKING

from reedpath.data import replace
from reedpath.film.cut_gains import even_gains
from reedpath.film.film_cut import CutKind, CutPiece, CutWhy, FilmClock, FilmCut
from reedpath.film.footage import Footage, FoundPlay, SingleNote, Sounding, quietest_moment, soundings_of
from reedpath.film.scene_play import nearest_rung
from reedpath.hear import HOP_SECONDS

if TYPE_CHECKING:
    from reedpath.lesson import Lesson, LessonPart, Rung

# share of the longer one of two stretches that both must play to be the same stretch; and of a part, or of parts
# joined, that must be played to be it; ours
SAME_SHARE = 0.8
# events at the start and at the end of a part that may be left out; ours
MOST_LEFT = 2
# ratio of two tempos up to which they are one that was meant; above what is felt as another (`lesson.ladder`), for
# nobody hits a tempo again exactly; ours
SAME_TEMPO = 1.1
# ratio to the tempo of the next of the same up to which what is not all right was meant to be as fast: late notes
# make a short stretch slower; under the steps of the ladder; ours
NEAR_TEMPO = 1.13
# share of its events that must be right in what is played at a tempo of its own, for that tempo to be meant; ours
OWN_TEMPO_RIGHT = 0.8
# seconds of the film that stay before and after what sounds: before the first note the breath, after the last its
# end; around talk; ours
AROUND = {CutKind.PLAY: (0.6, 0.8), CutKind.TALK: (0.3, 0.3), CutKind.NEITHER: (0.1, 0.1)}
# of a second, in the list
DECIMALS = 4
# seconds of talk that introduces what was only begun before, rather than laments it; ours
LONG_TALK = 3.0
# seconds of talk, with what stays around it, that may lament what was played before and not known as the lesson's,
# and how long that was, as a share of what is played next: a try so spoilt is about as long as the next one; ours
SHORT_TALK, SPOILT_SHARE = 2.2, 0.5
# seconds of talk, pauses not counted, up to which what was broken off at the end of a part is lamented, rather than
# what comes next introduced; and the same where that part was done before, and others after it; ours
FEW_WORDS, MORE_WORDS = 1.0, 1.6
# seconds of talk, with what stays around it, that laments a note or two, whatever they were ("no", "sorry"), and the
# first note of what is played next; ours
ONE_WORD, FIRST_NOTE_TALK = 1.6, 2.6
# seconds of what is neither talk nor the lesson, with what stays around it, that shows what is talked of: a knock is
# shorter, and a try that is not known as one longer; and seconds of the pauses beside it, at most; ours
SHOWN_SECONDS, SHOWN_PAUSE = (0.6, 1.3), 2.0
# seconds of silence under which it is no stretch of its own
SHORTEST_SECONDS = 0.05


class CutOrder(StrEnum):
    """In which order what stays is shown."""

    FILMED = "filmed"
    TAUGHT = "taught"


@dataclass(frozen=True, slots=True, eq=False)
class _Take:
    """A play-through of a film, by its place among all; ``parts`` are indexes of the lesson's parts, first and last.

    whole : whether these are played, rather than begun.
    said_after : seconds of talk before the next one of its film; None after the last.
    """

    number: int
    film: int
    found: FoundPlay
    parts: tuple[int, int]
    whole: bool
    rung: Rung | None
    said_after: float | None = None

    @property
    def first(self) -> int:
        return self.found.play.first

    @property
    def last(self) -> int:
        return self.found.play.last

    def is_again(self, other: _Take, part_ends: Collection[int]) -> bool:
        """Whether it plays what another one plays, at the same tempo, or either was broken off."""
        if not self.is_as_fast(other):
            return False
        both = min(self.last, other.last) - max(self.first, other.first) + 1
        is_same = both >= SAME_SHARE * max(self.found.events, other.found.events)
        return is_same or self.is_false_start_of(other, part_ends) or other.is_false_start_of(self, part_ends)

    def is_as_fast(self, other: _Take, ratio: float = SAME_TEMPO) -> bool:
        tempos = sorted((self.found.play.tempo_factor, other.found.play.tempo_factor))
        return tempos[1] <= ratio * tempos[0]

    def is_false_start_of(self, other: _Take, part_ends: Collection[int]) -> bool:
        """Whether it begins where another does and is broken off before it, not where a part ends."""
        is_shorter = self.first == other.first and self.last < other.last
        return is_shorter and self.last not in part_ends


# --------------------------------------------------------------------------------------------- what plays the same


def _parts_of(lesson: Lesson, found: FoundPlay) -> tuple[tuple[int, int], bool]:
    """The parts that a play-through plays, and whether it plays them whole."""
    first = min(range(len(lesson.parts)), key=lambda one: abs(lesson.parts[one].first - found.play.first))
    ends = range(first, len(lesson.parts))
    last = min(ends, key=lambda one: abs(lesson.parts[one].last - found.play.last))
    start, end = lesson.parts[first].first, lesson.parts[last].last
    both = min(found.play.last, end) - max(found.play.first, start) + 1
    is_whole = both >= SAME_SHARE * max(end - start + 1, found.events)
    return (first, last), is_whole and found.play.first - start <= MOST_LEFT and end - found.play.last <= MOST_LEFT


def _as_new(parts: Sequence[LessonPart], played: tuple[int, int]) -> tuple[int, int]:
    """The parts that were taught first, where one is the same as an earlier one."""
    first, last = played
    same = parts[first].same_as
    return (same, same) if first == last and same is not None else played


def _moment(clocks: Sequence[FilmClock], film: int, seconds: float) -> tuple[int, float]:
    """When something in a film happened: films that were not taken together follow each other."""
    clock = next((one for one in clocks if one.film == film), None)
    return (film, seconds) if clock is None else (clock.other, clock.there(seconds))


def _takes(footage: Sequence[Footage], lesson: Lesson, clocks: Sequence[FilmClock]) -> list[_Take]:
    """All play-throughs as they were played, one after the other."""
    found = [(film, each) for film, one in enumerate(footage) for each in one.plays]
    found.sort(key=lambda one: _moment(clocks, one[0], one[1].play.start_seconds))
    takes: list[_Take] = []
    for film, each in found:
        parts, whole = _parts_of(lesson, each)
        rung = nearest_rung(lesson, each.play.tempo_factor)
        whole = whole and not each.only_begun
        said = _said_after(footage[film], each)
        takes.append(_Take(len(takes), film, each, _as_new(lesson.parts, parts), whole, rung, said))
    return takes


def _said_after(footage: Footage, found: FoundPlay) -> float | None:
    """Seconds of talk between a play-through and the next one of its film; None after the last."""
    later = [one.start_seconds for one in footage.plays if one.play.start_seconds > found.play.start_seconds]
    if not later:
        return None
    first, stop = (round(at / HOP_SECONDS) for at in (found.play.end_seconds, min(later)))
    return float(footage.course.talk[first:stop].sum()) * HOP_SECONDS


def _groups_as_filmed(takes: Sequence[_Take], lesson: Lesson) -> list[list[_Take]]:
    """Takes of the same, one after the other."""
    part_ends = {part.last for part in lesson.parts}
    groups: list[list[_Take]] = []
    for take in takes:
        if groups and any(take.is_again(one, part_ends) for one in groups[-1]):
            groups[-1].append(take)
        else:
            groups.append([take])
    return groups


def _begun_anew(take: _Take, takes: Sequence[_Take]) -> _Take | None:
    """What goes on after the parts of a take, where that was broken off at their end: it comes next, a few words
    later, begins with them, and is as fast; and the parts are played by themselves elsewhere, at another tempo or
    before others were.
    """
    before = [one for one in takes[: take.number] if one.whole and one.parts == take.parts and one.is_as_fast(take)]
    is_done = any(
        other.whole and other.parts != take.parts for one in before for other in takes[one.number : take.number]
    )
    few = MORE_WORDS if is_done else FEW_WORDS
    if not take.whole or take.said_after is None or take.said_after > few:
        return None
    following = takes[take.number + 1]
    if following.film != take.film or not following.is_as_fast(take) or following.parts[0] != take.parts[0]:
        return None
    if following.parts == take.parts:
        return _begun_anew(following, takes)
    elsewhere = is_done or any(one.whole and one.parts == take.parts and not one.is_as_fast(take) for one in takes)
    return following if following.whole and following.parts[1] > take.parts[1] and elsewhere else None


def _meant(take: _Take, takes: Sequence[_Take]) -> _Take:
    """The take that another one was meant to be: of what is begun, and of what is played at no tempo of the ladder
    since much is wrong in it, the next of the same; of what has faults, a better one beside it that is about as fast;
    of what was broken off where a part ends, what was begun anew.
    """
    longer = _begun_anew(take, takes)
    if longer is not None:
        return longer
    if take.whole and take.found.right < 1.0:
        alike = [one for one in takes if one.whole and one.parts == take.parts and one.number != take.number]
        near = min(alike, key=lambda one: abs(one.number - take.number - 0.5), default=None)
        if near is not None and near.found.right > take.found.right and near.is_as_fast(take, NEAR_TEMPO):
            return near
    if take.whole and (take.rung is not None or take.found.right >= OWN_TEMPO_RIGHT):
        return take
    later = [one for one in takes[take.number + 1 :] if one.whole and one.rung is not None]
    same = [one for one in later if (one.parts == take.parts if take.whole else one.parts[0] == take.parts[0])]
    return next((one for one in same if one.is_as_fast(take)), same[0] if same else take)


def _groups_as_taught(takes: Sequence[_Take], lesson: Lesson) -> list[list[_Take]]:
    """Takes of the same parts at the same tempo, in the order of the lesson."""
    groups: dict[tuple[int, int, int, float], list[_Take]] = defaultdict(list)
    for take in takes:
        meant = _meant(take, takes)
        factor = meant.found.play.tempo_factor if meant.rung is None else meant.rung.factor
        first, last = meant.parts
        groups[last, last - first, first, round(factor, 2)].append(take)
    return [groups[key] for key in sorted(groups)]


def _best(group: Sequence[_Take]) -> _Take:
    """The one with most right; a part that is played whole before one that is begun, what is played on the lesson's
    harp before what is not, of two alike the later.
    """

    def worth(take: _Take) -> tuple[bool, bool, float, int]:
        return (take.whole, take.found.harp_heard is None, round(take.found.worth, 3), take.number)

    return max(group, key=worth)


def _why(take: _Take, group: Sequence[_Take], best: _Take, part_ends: Collection[int]) -> CutWhy:
    if take.found.only_begun:
        return CutWhy.FALSE_START
    if len(group) == 1:
        return CutWhy.ONLY
    if take is best:
        return CutWhy.BEST
    return CutWhy.FALSE_START if take.is_false_start_of(best, part_ends) else CutWhy.ANOTHER


# --------------------------------------------------------------------------------------------------- the stretches


@dataclass(frozen=True, slots=True, eq=False)
class _Sorted:
    """Takes with what became of them, by their numbers.

    groups : the place of each take's group in the order. again : those that play what was played before.
    begun : of these, those before which it was never played whole.
    """

    takes: Sequence[_Take]
    whys: dict[int, CutWhy]
    groups: dict[int, int]
    again: Collection[int]
    begun: Collection[int]


def _sorted(takes: Sequence[_Take], groups: Sequence[Sequence[_Take]], lesson: Lesson) -> _Sorted:
    part_ends = {part.last for part in lesson.parts}
    whys: dict[int, CutWhy] = {}
    places: dict[int, int] = {}
    again: set[int] = set()
    begun: set[int] = set()
    for place, group in enumerate(groups):
        best = _best(group)
        again |= {take.number for take in group} - {min(take.number for take in group)}
        first_whole = min((take.number for take in group if take.whole), default=len(takes))
        begun |= {take.number for take in group if take.number <= first_whole}
        for take in group:
            whys[take.number], places[take.number] = _why(take, group, best, part_ends), place
    return _Sorted(takes, whys, places, again, begun & again)


@dataclass(frozen=True, slots=True)
class _Placed:
    """A stretch, and the take that it plays or leads to: its number, None after the last."""

    piece: CutPiece
    take: int | None


def _edges(footage: Footage, sounds: Sequence[Sounding], span: tuple[float, float]) -> list[tuple[float, float]]:
    """From where to where each stretch that sounds is shown, cut where nothing sounds."""
    starts = [max(span[0], sounds[0].start_seconds - AROUND[sounds[0].kind][0])]
    ends: list[float] = []
    for one, after in pairwise(sounds):
        tail, lead = AROUND[one.kind][1], AROUND[after.kind][0]
        gap = after.start_seconds - one.end_seconds
        if gap >= tail + lead + SHORTEST_SECONDS:
            ends.append(one.end_seconds + tail)
            starts.append(after.start_seconds - lead)
        else:
            at = quietest_moment(footage.course, one.end_seconds, max(one.end_seconds, after.start_seconds))
            ends.append(at)
            starts.append(at)
    ends.append(min(span[1], sounds[-1].end_seconds + AROUND[sounds[-1].kind][1]))
    on = footage.frame_rate
    return [
        (round(round(start * on) / on, DECIMALS), round(round(end * on) / on, DECIMALS))
        for start, end in zip(starts, ends, strict=True)
    ]


def _played(take: _Take, why: CutWhy, lesson: Lesson, edges: tuple[float, float]) -> CutPiece:
    play = take.found.play
    labels = list(dict.fromkeys(part.label for part in lesson.parts[take.parts[0] : take.parts[1] + 1]))
    keep = why in (CutWhy.ONLY, CutWhy.BEST) and not take.found.only_begun
    return CutPiece(
        take.film, *edges, CutKind.PLAY, keep, why, play.first, play.last, round(play.tempo_factor, DECIMALS),
        round(take.found.right, DECIMALS), take.found.wrong, " ".join(labels),
        tempo="" if take.rung is None else take.rung.name,
        harp="" if take.found.harp_heard is None else take.found.harp_heard.name,
    )  # fmt: skip


def _of_span(
    film: int, footage: Footage, span: tuple[float, float], sorted_takes: _Sorted, lesson: Lesson
) -> Iterator[_Placed]:
    """The stretches of a film between two moments, without gaps."""
    own = [take for take in sorted_takes.takes if take.film == film]
    sounds = soundings_of(footage, span)
    at = span[0]
    edges = _edges(footage, sounds, span) if sounds else []
    for index, (one, (start, end)) in enumerate(zip(sounds, edges, strict=True)):
        following = next((own[next_.play].number for next_ in sounds[index:] if next_.play is not None), None)
        if start - at > SHORTEST_SECONDS:
            yield _Placed(CutPiece(film, at, start, CutKind.SILENCE, keep=False, why=CutWhy.SILENCE), following)
        else:
            start = at
        at = end
        if one.play is not None:
            take = own[one.play]
            yield _Placed(_played(take, sorted_takes.whys[take.number], lesson, (start, end)), take.number)
        else:
            why = CutWhy.TALK if one.kind is CutKind.TALK else CutWhy.NEITHER
            yield _Placed(CutPiece(film, start, end, one.kind, keep=False, why=why), following)
    if span[1] - at > SHORTEST_SECONDS:
        yield _Placed(CutPiece(film, at, span[1], CutKind.SILENCE, keep=False, why=CutWhy.SILENCE), None)


def _with_talk(
    placed: Sequence[_Placed], known: _Sorted, footage: Sequence[Footage], lesson: Lesson
) -> Iterator[_Placed]:
    """The stretches with her talk, which stays but before what was played before.

    What was only begun before may have been a warming up: long talk after it introduces what follows. A few words
    after what is as long as the next try, and is not known as one, lament it.
    """
    following: int | None = None
    told: list[_Placed] = []
    for place in reversed(range(len(placed))):
        one = placed[place]
        following = one.take if one.take is not None else following
        if one.piece.kind is CutKind.TALK:
            is_between = following is not None and following in known.again
            if following in known.begun and one.piece.seconds >= LONG_TALK:
                is_between = False
            if following is not None and not is_between:
                take, notes = known.takes[following], footage[one.piece.film].single_notes
                is_between = _laments(one.piece, placed[:place], take, _firsts(notes, take, lesson))
            why = CutWhy.BETWEEN if is_between else CutWhy.TALK
            one = _Placed(replace(one.piece, keep=not is_between, why=why), following)
        told.append(_Placed(one.piece, one.take if one.piece.kind is CutKind.PLAY else following))
    yield from reversed(told)


def _with_shown(placed: Sequence[_Placed]) -> list[_Placed]:
    """The stretches, those kept in which she shows what she talks of: a bend, a note, between talk that stays."""
    told = list(placed)
    sounding = [place for place, one in enumerate(placed) if one.piece.kind is not CutKind.SILENCE]
    for before, place, after in zip(sounding, sounding[1:], sounding[2:], strict=False):
        piece = placed[place].piece
        is_short = SHOWN_SECONDS[0] <= piece.seconds <= SHOWN_SECONDS[1]
        if piece.kind is not CutKind.NEITHER or not is_short:
            continue
        beside = [placed[before].piece, placed[after].piece]
        talked = all(one.kind is CutKind.TALK and one.keep and one.film == piece.film for one in beside)
        pauses = piece.start_seconds - beside[0].end_seconds, beside[1].start_seconds - piece.end_seconds
        said = sum(placed[number].piece.seconds for number in _talk_from(placed, after))
        if talked and max(pauses) <= SHOWN_PAUSE and said > ONE_WORD:
            for number in range(before + 1, after):
                shown = replace(placed[number].piece, keep=True, why=CutWhy.SHOWN)
                told[number] = _Placed(shown, placed[after].take)
    return told


def _talk_from(placed: Sequence[_Placed], first: int) -> Iterator[int]:
    """The talk from a stretch on to what is played next."""
    for number in range(first, len(placed)):
        if placed[number].piece.kind is CutKind.PLAY:
            return
        if placed[number].piece.kind is CutKind.TALK:
            yield number


def _firsts(notes: Sequence[SingleNote], take: _Take, lesson: Lesson) -> list[float]:
    """When a note by itself begins that is the first one of a take, seconds."""
    asked = lesson.route.sounding_midi(take.first)
    return [one.start_seconds for one in notes if one.midi in asked]


def _laments(talk: CutPiece, before: Sequence[_Placed], following: _Take, firsts: Sequence[float]) -> bool:
    """Whether a few words follow what may have been a try, so spoilt, or broken off so soon, that it is not known as
    one.

    before : what the words follow. following : the take that they lead to. firsts : when its first note is by itself.
    """
    unknown: list[CutPiece] = []
    is_first = True
    for one in reversed(before):
        if one.piece.film != talk.film or one.piece.kind in (CutKind.PLAY, CutKind.TALK):
            is_first = one.piece.film != talk.film
            break
        if one.piece.kind is CutKind.NEITHER:
            unknown.append(one.piece)
    is_begun = any(one.start_seconds <= first < one.end_seconds for one in unknown for first in firsts)
    longest = max((one.seconds for one in unknown), default=0.0)
    if not is_first and longest >= SHOWN_SECONDS[0] and talk.seconds <= (FIRST_NOTE_TALK if is_begun else ONE_WORD):
        return True
    play = following.found.play
    is_spoilt = sum(one.seconds for one in unknown) >= SPOILT_SHARE * (play.end_seconds - play.start_seconds)
    return talk.seconds <= SHORT_TALK and is_spoilt


def _as_taught(placed: Sequence[_Placed], groups: dict[int, int]) -> list[CutPiece]:
    """The stretches in the order of the lesson; each that goes stands after the one that it follows in its film."""
    heads: list[tuple[tuple[int, int], list[CutPiece]]] = []
    before_any = True
    for number, one in enumerate(placed):
        if not one.piece.keep and heads:
            heads[-1][1].append(one.piece)
            continue
        # what she says before she plays at all opens the film; what she says after it all ends it
        place = -1 if before_any and one.piece.kind is not CutKind.PLAY else len(groups)
        if one.take is not None and place >= 0:
            place = groups[one.take]
        before_any = before_any and one.piece.kind is not CutKind.PLAY
        heads.append(((place, number), [one.piece]))
    return [piece for _, pieces in sorted(heads, key=lambda one: one[0]) for piece in pieces]


# ------------------------------------------------------------------------------------------------------- cameras


def _seen(cut: FilmCut, piece: CutPiece, footage: Sequence[Footage]) -> int | None:
    """The camera that a stretch is shown by: the first given for talk, the last for what is played."""
    whole = []
    for film, length in enumerate(cut.lengths):
        if not footage[film].has_pictures:
            continue
        clock = cut.clock(piece.film, film)
        if clock is not None and 0 <= clock.there(piece.start_seconds) <= clock.there(piece.end_seconds) <= length:
            whole.append(film)
    if not whole:
        return None
    film = whole[-1] if piece.kind is CutKind.PLAY else whole[0]
    return None if film == piece.film else film


def proposed_cut(
    footage: Sequence[Footage],
    lesson: Lesson,
    *,
    order: CutOrder = CutOrder.FILMED,
    clocks: Sequence[FilmClock] = (),
) -> FilmCut:
    """The cut that is proposed of one film, or of several that follow each other or were taken together."""
    takes = _takes(footage, lesson, clocks)
    groups = (_groups_as_filmed if order is CutOrder.FILMED else _groups_as_taught)(takes, lesson)
    known = _sorted(takes, groups, lesson)
    spans = [(film, each, span) for film, each in enumerate(footage) for span in each.spans]
    spans.sort(key=lambda one: _moment(clocks, one[0], one[2][0]))
    placed = [one for film, each, span in spans for one in _of_span(film, each, span, known, lesson)]
    told = _with_shown(list(_with_talk(placed, known, footage, lesson)))
    pieces = [one.piece for one in told] if order is CutOrder.FILMED else _as_taught(told, known.groups)
    names, lengths = tuple(one.name for one in footage), tuple(one.seconds for one in footage)
    cut = FilmCut(names, lengths, tuple(pieces), tuple(clocks), even_gains(footage, pieces))
    if not clocks:
        return cut
    return replace(cut, pieces=tuple(replace(one, seen=_seen(cut, one, footage)) for one in cut.pieces))

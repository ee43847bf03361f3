"""The answer in words: a few sentences that a teacher could send."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from reedpath.arrange import Route
from reedpath.harp import Alteration, Embouchure, Move
from reedpath.listen.advice import (
    OF_AIR,
    OF_HOLES,
    OF_SWING,
    OF_TEMPO,
    OF_THE_WHOLE,
    pair_of,
    practise_of,
    things_of_the_whole,
)
from reedpath.listen.advice_text import (
    harp_heard_words,
    next_step_words,
    others_too_many,
    place_words,
    praise_words,
    remedy_words,
    tries_words,
)
from reedpath.listen.answer import Answer, EventAnswer, PartsPlayed, PlayAnswer, Practise, Tries
from reedpath.listen.answer_kinds import BeatDivision, FaultKind, Notice, PraiseKind, Verdict
from reedpath.listen.next_step import is_in_part
from reedpath.listen.reeds import holes_heard
from reedpath.phrase import Metre, metre_at
from reedpath.wording import Catalogue, counted_bpm, move_in_sentence

# points that an answer makes: short, specific corrections, one or two of them (expert teachers: Duke's group,
# University of Texas; how many is common practice); the other things are told where they are asked for
MOST_POINTS = 2
# things told in all; beyond the two or three most worth practising they are for another day
MOST_TOLD = 9
# moves named in a row at most; more would not be read
MOST_NAMED = 3
# cents and milliseconds are told to the nearest five; finer would be pretence
ROUNDED_TO = 5.0


def _named_moves(moves: Iterable[Move | None], words: Catalogue) -> str:
    """Some moves in words, each once."""
    named = dict.fromkeys(move_in_sentence(move, words, "the") for move in moves)
    shown = list(named)[:MOST_NAMED]
    return words.join([*shown, "…"] if len(named) > MOST_NAMED else shown)


def _moves(route: Route, events: Sequence[int], words: Catalogue) -> str:
    """The moves of some events in words, each once."""
    return _named_moves((route.events[event].choice.move for event in events), words)


def _rounded(amount: float) -> float:
    return ROUNDED_TO * max(1, round(amount / ROUNDED_TO))


def _key(thing: Practise, play: PlayAnswer) -> str:
    bent = thing.move is not None and thing.move.alteration is Alteration.BEND
    tuned = thing.kind in (FaultKind.FLAT, FaultKind.SHARP)
    if thing.kind is FaultKind.HOLE_TOO_MANY and thing.move is None:
        return "listen.fault.leak"
    name = thing.kind.replace(" ", "_")
    if thing.kind in OF_AIR and _rest_of(thing, play) is None:
        name = f"{name}_no_rest"
    if thing.kind in OF_SWING and play.swing is not None and play.swing.division is not BeatDivision.EIGHTHS:
        name = f"{name}_{play.swing.division.replace(' ', '_')}"
    return f"listen.fault.{name}_bend" if bent and tuned else f"listen.fault.{name}"


def _rest_of(thing: Practise, play: PlayAnswer) -> int | None:
    """Index of the event after which there is a rest, before the place where the air is told of; None for none."""
    return play.air.rest_to_fullest if thing.kind is FaultKind.AIR_FULL else play.air.rest_to_emptiest


def practise_words(thing: Practise, play: PlayAnswer, route: Route, words: Catalogue) -> str:
    """One thing worth practising, as a sentence."""
    count = len(thing.events)
    singly = thing.kind not in OF_THE_WHOLE
    place = place_words(route, thing.events, words, singly=singly) if thing.events else ""
    values: dict[str, str | float] = {"count": count, "place": place}
    offered: dict[str, str | float] = {
        "times": words.say("times.count", count=count),
        "amount": _rounded(thing.amount),
        "move": move_in_sentence(thing.move, words, "the"),
        "moves": _moves(route, thing.events, words),
        "depth": words.say("depth.adjective", count=max(1, round(thing.amount))),
        "percent": round(thing.amount),
        "ratio": words.number(thing.amount, decimals=1),
        "asked": words.number(1.0 if play.swing is None else play.swing.asked, decimals=1),
    }
    if thing.kind is FaultKind.ANOTHER:
        heard = [one.heard for one in play.events if one.event in thing.events and one.verdict is Verdict.ANOTHER]
        named = dict.fromkeys(move_in_sentence(move, words, "the") for move in heard)
        offered["heard"] = words.join(list(named)[:MOST_NAMED], link="or" if len(named) > 1 else "and")
    rest = _rest_of(thing, play)
    if thing.kind in OF_AIR and rest is not None:
        offered["rest"] = place_words(route, (rest,), words)
    if thing.kind is FaultKind.BEGUN_BEFORE:
        offered["heard"] = _named_moves([one.move for one in play.extras if one.leads], words)
    if thing.kind is FaultKind.SWAPPED:
        pairs = {pair_of(one) for one in play.events if one.event in thing.events}
        values["count"], offered["times"] = len(pairs), words.say("times.count", count=len(pairs))
        offered["moves"] = _moves(route, min(pairs), words)
        place = place_words(route, [event for pair in pairs for event in pair], words)
        values["place"] = place
    if thing.kind in OF_HOLES:
        offered |= _hole_values(thing, play, words)
    key, others = _key(thing, play), others_too_many(thing, play)
    if others:
        key = "listen.fault.extra_other"
        values["count"], offered["heard"] = len(others), _named_moves([one.move for one in others], words)
    wanted = {name: value for name, value in (values | offered).items() if name in words.messages[key].gaps}
    return words.sentence(words.say(key, variant=0, **wanted))


def _share(play: PlayAnswer, words: Catalogue) -> str:
    tried = len(play.heard_events)
    if play.right == len(play.events):
        return words.say("listen.all_notes" if play.practise else "listen.all_right", count=tried)
    return words.say("listen.share", count=play.right, notes=tried)


def _covered(play: PlayAnswer, route: Route, words: Catalogue, *, rings: bool) -> Iterator[str]:
    """What others play over, or something rings over, so that nobody can hear whether it is played."""
    events = tuple(one.event for one in play.events if one.covered)
    if events:
        place, moves = place_words(route, events, words), _moves(route, events, words)
        yield words.say(f"listen.covered{'_ringing' if rings else ''}", count=len(events), moves=moves, place=place)


def _unsure(play: PlayAnswer, route: Route, words: Catalogue) -> Iterator[str]:
    """Several holes together of which nobody can hear whether all sound: octaves exactly in tune."""
    events = tuple(one.event for one in play.heard_events if one.is_right and one.has_unsure_hole)
    if events:
        place, moves = place_words(route, events, words), _moves(route, events, words)
        yield words.say("listen.unsure_holes", count=len(events), moves=moves, place=place)


def _tempo(play: PlayAnswer, metre: Metre, words: Catalogue) -> Iterator[str]:
    tempo = play.tempo
    yield words.say("listen.tempo", bpm=round(counted_bpm(tempo.bpm, metre)), percent=round(100.0 * tempo.factor))
    if any(thing.kind in OF_TEMPO for thing in play.practise):
        return  # that is a point of its own
    if tempo.kept:
        yield words.say("listen.kept")
    elif tempo.sways:
        yield words.say("listen.sways", percent=round(100.0 * tempo.sway))
    else:
        yield words.say(
            f"listen.{'faster' if tempo.drift > 0 else 'slower'}", percent=round(100.0 * abs(tempo.drift))
        )


def _part(play: PlayAnswer, route: Route, words: Catalogue) -> str:
    """From where to where a play-through goes that is not of all of it."""
    first, last = play.play.first, play.play.last
    return words.say(
        "listen.part_recorded" if play.play.cut_off else "listen.part",
        first_place=place_words(route, (first,), words),
        last_place=place_words(route, (last,), words),
        **_ends(route, first, last, words),
    )


def _drills(play: PlayAnswer, route: Route, words: Catalogue) -> Iterator[str]:
    for spot in play.spots:
        place = place_words(route, (spot.first, spot.last), words)
        if spot.first == spot.last:
            first = move_in_sentence(route.events[spot.first].choice.move, words, "the")
            yield words.say("listen.drill_one", first=first, place=place)
        else:
            yield words.say("listen.drill", place=place, **_ends(route, spot.first, spot.last, words))


def _ends(route: Route, first: int, last: int, words: Catalogue) -> dict[str, Any]:
    """Where a stretch of events begins and ends, as its sentence says it."""
    return {
        "from_first": move_in_sentence(route.events[first].choice.move, words, "from"),
        "to_last": move_in_sentence(route.events[last].choice.move, words, "to"),
    }


def _listed(heading: str, lines: Sequence[str]) -> list[str]:
    return ["", heading, *(f"- {line}" for line in lines)] if lines else []


def _is_recurring(thing: Practise, tries: Tries | None) -> bool:
    if tries is None or tries.recurring is None or tries.recurring.kind is not thing.kind:
        return False
    if tries.recurring_at is None:
        return tries.recurring.move == thing.move
    return tries.recurring_at in thing.events


def _points(things: Sequence[Practise], answer: Answer, play: PlayAnswer, words: Catalogue) -> Iterator[str]:
    """What is worth practising, and on lines of their own what helps (once), and in how many tries it comes back."""
    tries, remedies = answer.tries, set[str]()
    for thing in things:
        lines, remedy = [practise_words(thing, play, answer.route, words)], remedy_words(thing, play, words)
        if remedy and remedy not in remedies:
            lines.append(remedy)
        remedies.add(remedy)
        if tries is not None and _is_recurring(thing, tries):
            lines.append(words.say("listen.tries.often", count=tries.recurring_in, tries=tries.count))
        yield "\n  ".join(lines)


def _well(answer: Answer, words: Catalogue) -> list[str]:
    """What went well, unless the number of right notes or the trend has said it."""
    said = (PraiseKind.ALL, PraiseKind.BETTER, PraiseKind.TEMPO)
    if answer.praise is None or answer.praise.kind in said:
        return []
    return [praise_words(answer.praise, answer.route, words)]


def _all_things(play: PlayAnswer) -> tuple[Practise, ...]:
    whole = things_of_the_whole(play.events, play.tempo, play.air, play.swing)
    return practise_of(play.events, most=MOST_TOLD, whole=whole)


def _play_lines(
    answer: Answer, play: PlayAnswer, words: Catalogue, *, everything: bool, most: int, with_next: bool
) -> list[str]:
    route = answer.route
    about = [
        _share(play, words),
        *_unsure(play, route, words),
        *_covered(play, route, words, rings=Notice.RINGS in answer.notices),
        *_well(answer, words),
    ]
    if not play.play.whole and not play.is_by_parts:
        about.append(_part(play, route, words))
    metre = metre_at(route.phrase, route.phrase.events[play.play.first].onset)
    about += _tempo(play, metre, words)
    points = play.practise[:most]
    things = list(_points(points, answer, play, words))
    others = [one for one in (*play.practise, *_all_things(play)) if one not in points] if everything else []
    rest = [practise_words(thing, play, route, words) for thing in dict.fromkeys(others)]
    following = []
    if answer.next_step is not None and with_next:
        following = ["", next_step_words(answer.next_step, answer.harp_heard, answer.route, words)]
    return [
        " ".join(about),
        *_listed(words.say("listen.practise"), things),
        *_comes_back(answer, points, words),
        *following,
        *_listed(words.say("listen.rest"), rest),
        *_listed(words.say("listen.drills"), list(_drills(play, route, words))),
    ]


def _times(count: int, words: Catalogue) -> str:
    return words.say("times.count", count=count)


def _tuning(answer: Answer, words: Catalogue) -> Iterator[str]:
    if answer.tuned_cents:
        key = "listen.tuning" if answer.tuned_cents > 0 else "listen.tuning_lower"
        yield words.say(key, count=round(abs(answer.tuned_cents)))


def _by_parts(answer: Answer, parts: PartsPlayed, words: Catalogue) -> str:
    """That the phrase is played by parts, how often in all, and which are told."""
    ends = [(answer.plays[index].play.first, answer.plays[index].play.last) for index in parts.plays]
    places = [place_words(answer.route, range(first, last + 1), words, singly=False) for first, last in ends]
    return words.say("listen.by_parts", times=_times(len(answer.plays), words), places=words.join(places))


def _heard(answer: Answer, best: int, words: Catalogue) -> Iterator[str]:
    """How often the phrase is heard, which playing is told of, and what becomes of it from try to try."""
    if answer.by_parts is not None:
        yield _by_parts(answer, answer.by_parts, words)
        yield from _tuning(answer, words)
        return
    in_part, times = sum(is_in_part(play, answer.route) for play in answer.plays), _times(len(answer.plays), words)
    if 0 < in_part < len(answer.plays):
        yield words.say("listen.heard_in_part", times=times, parts=_times(in_part, words))
    else:
        yield words.say("listen.heard", times=times)
    if len(answer.plays) > 1:
        yield words.say("listen.best", number=best + 1)
    if answer.tries is not None:
        yield from tries_words(answer.tries, answer.route, words)
    yield from _tuning(answer, words)


def _comes_back(answer: Answer, points: Sequence[Practise], words: Catalogue) -> list[str]:
    """What most of several tries have in common, as a paragraph, where it is none of the points."""
    tries = answer.tries
    if tries is None or tries.recurring is None or tries.seen_in is None:
        return []
    if any(_is_recurring(thing, tries) for thing in points):
        return []
    thing = practise_words(tries.recurring, answer.plays[tries.seen_in], answer.route, words)
    return ["", words.say("listen.tries.recurring", count=tries.recurring_in, tries=tries.count, what=thing)]


def answer_lines(
    answer: Answer, words: Catalogue, *, everything: bool, most: int = MOST_POINTS, with_next: bool = True
) -> list[str]:
    """What an answer says below its heading and what is said of the recording.

    most : points to practise. with_next : whether the next step is said.
    """
    lines = []
    if answer.harp_heard is not None:
        lines += [harp_heard_words(answer.harp_heard, answer.route, words)]
    best = answer.best_play
    if answer.best is not None and best is not None:
        lines += [" ".join(_heard(answer, answer.best, words))]
        lines += _play_lines(answer, best, words, everything=everything, most=most, with_next=with_next)
    return lines


def notice_words(notices: Sequence[Notice], duration_seconds: float, words: Catalogue) -> Iterator[str]:
    """What is to be said of a recording."""
    for notice in notices:
        key = f"listen.notice.{notice.value.replace(' ', '_')}"
        if notice is Notice.LONG:
            yield words.say(key, minutes=round(duration_seconds / 60.0))
        else:
            yield words.say(key)


def format_answer(answer: Answer, catalogue: Catalogue, *, everything: bool = False) -> str:
    """An answer as text: how often the phrase is heard, what went well in the best playing of it, one or two things
    to practise, and the next step.

    catalogue : the language, as `reedpath.wording.load_catalogue` gives it.
    everything : whether all else that is not as asked is told too.
    """
    lines = [heading_words(answer.route.phrase.title, catalogue), ""]
    lines += notice_words(answer.notices, answer.duration_seconds, catalogue)
    lines += answer_lines(answer, catalogue, everything=everything)
    return "\n".join(lines).rstrip() + "\n"


def heading_words(title: str, words: Catalogue) -> str:
    """The heading of an answer."""
    return words.say("listen.heading", title=title) if title else words.say("listen.heading_untitled")


def _is_tongued(move: Move) -> bool:
    return move.embouchure is Embouchure.TONGUE or move.is_split


def _side(hole: int, move: Move) -> str:
    """On which side of a move's middle a hole lies."""
    return "left" if hole < move.centre else "right" if hole > move.centre else ""


def _missing_tip(holes: Sequence[int], move: Move, words: Catalogue) -> str:
    sides = {_side(hole, move) for hole in holes}
    side = sides.pop() if len(sides) == 1 else ""
    if side and _is_tongued(move):
        return words.say(f"listen.tip.corner_{side}")
    return words.say(f"listen.tip.wider_{side}" if side else "listen.tip.wider")


def _wrong_tip(pair: tuple[int, int], move: Move, words: Catalogue) -> str:
    asked, heard = pair
    way = "left" if heard > asked else "right"
    corner = "corner_" if _is_tongued(move) else ""
    return words.say(f"listen.tip.{corner}move_{way}", count=abs(heard - asked))


def _too_many_tip(holes: Sequence[int], move: Move, words: Catalogue) -> str:
    if any(move.holes[0] < hole < move.holes[-1] for hole in holes):
        return words.say("listen.tip.cover" if len(holes) == 1 and _is_tongued(move) else "listen.tip.smaller")
    sides = {_side(hole, move) for hole in holes}
    if len(sides) != 1:
        return words.say("listen.tip.smaller")
    return words.say(f"listen.tip.smaller_{'right' if 'left' in sides else 'left'}")


def _named(holes: Sequence[int], words: Catalogue) -> str:
    own = sorted(set(holes))
    return words.say("listen.holes", count=len(own), holes=words.join(own))


def _leak_tip(told: Sequence[EventAnswer], words: Catalogue) -> str:
    """What helps several single notes that leak: a side, where it is the same one always."""
    sides = {_side(hole, one.move) for one in told for hole in holes_heard(one.reeds).too_many}
    if len(sides) != 1:
        return words.say("listen.tip.smaller")
    return words.say(f"listen.tip.smaller_{'right' if 'left' in sides else 'left'}")


def _hole_values(thing: Practise, play: PlayAnswer, words: Catalogue) -> dict[str, str | float]:
    """What a sentence on holes says: which, which in their place, and what helps."""
    told = [one for one in play.events if one.event in thing.events]
    move = thing.move
    if move is None:
        return {"tip": _leak_tip(told, words)}
    found = [holes_heard(one.reeds) for one in told]
    if thing.kind is FaultKind.HOLE_MISSING:
        holes = [hole for one in found for hole in one.missing] or list(move.holes[-1:])
        return {"holes": _named(holes, words), "tip": _missing_tip(holes, move, words)}
    if thing.kind is FaultKind.HOLE_TOO_MANY:
        holes = [hole for one in found for hole in one.too_many] or [move.holes[-1] + 1]
        return {"holes": _named(holes, words), "tip": _too_many_tip(sorted(set(holes)), move, words)}
    pairs = [pair for one in found for pair in one.wrong] or [(move.holes[-1], move.holes[-1] + 1)]
    return {
        "holes": _named([asked for asked, _ in pairs], words),
        "heard": _named([other for _, other in pairs], words),
        "tip": _wrong_tip(max(pairs, key=pairs.count), move, words),
    }

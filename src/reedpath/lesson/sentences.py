"""Saying: what the teacher says of one event, by what changes from the event before.

A sentence has a beginning, which says where mouth and breath go ("up one hole, 5 draw"), and clauses, which say
what is done there ("bend it a half step"). All words come from the catalogue; here is only the choice of
messages.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from reedpath.arrange import RouteEvent
from reedpath.harp import Alteration, Embouchure, Move
from reedpath.wording import Catalogue, covered_words, hole_words, move_in_sentence, move_words

# holes from which the mouth leaps rather than steps; common practice, no source
LEAP_HOLES = 3


class Speaker:
    """A catalogue that takes turns with the variants of its messages, from the first on: always the same way."""

    def __init__(self, catalogue: Catalogue) -> None:
        self.catalogue = catalogue
        self._turns: Counter[str] = Counter()

    def say(self, key: str, /, **values: str | float) -> str:
        """The next variant of a message."""
        variant = self._turns[key]
        self._turns[key] += 1
        return self.catalogue.say(key, variant=variant, **values)

    def sentence(self, key: str, /, **values: str | float) -> str:
        """The next variant of a message, as a sentence."""
        return self.catalogue.sentence(self.say(key, **values))


def _depth(move: Move) -> int:
    """How far a move is bent, in half steps; overbends and dips are not."""
    return -move.semitones if move.alteration is Alteration.BEND else 0


def _breath(move: Move) -> str:
    """The name by which a sentence says how a hole is sounded."""
    return (move.alteration if move.alteration.is_overbend else move.breath).value


def _named_bend(speaker: Speaker, depth: float) -> str:
    return speaker.say("depth.named", count=depth)


def ending_move(before: RouteEvent | None) -> Move | None:
    """The move that sounds when an event ends."""
    if before is None:
        return None
    return before.choice.lead_out[-1] if before.choice.lead_out else before.choice.move


def _on_hole(speaker: Speaker, before: RouteEvent, move: Move) -> str | None:
    """What to say where the sound only changes on the hole that sounds already; None where it does not."""
    last = ending_move(before)
    if last is None or len(last.holes) > 1 or last.holes != move.holes or last.breath is not move.breath:
        return None
    if _breath(last) != _breath(move):
        if move.alteration.is_overbend:
            return speaker.say(f"change_on_hole.{_breath(move)}")
        return speaker.say("change_on_hole.plain", place=hole_words(move, speaker.catalogue))
    was = _depth(last) - (0 if before.choice.lead_out else before.choice.fall_semitones)
    now = _depth(move)
    if was == now and last.is_dip == move.is_dip:
        return None
    if move.is_dip:
        return speaker.say("change_on_hole.dip")
    if now == 0:
        return speaker.say("change_on_hole.let_go")
    if was == 0:
        return speaker.say("change_on_hole.bend", amount=speaker.say("depth.by", count=now))
    return speaker.say(f"change_on_hole.{'deeper' if now > was else 'shallower'}", bend=_named_bend(speaker, now))


def _way(last: Move, move: Move) -> int:
    """Holes from the nearest of those of one move to the nearest of another's, up positive; 0 where they meet."""
    if move.holes[0] > last.holes[-1]:
        return move.holes[0] - last.holes[-1]
    return min(0, move.holes[-1] - last.holes[0])


def _again(speaker: Speaker, move: Move) -> str:
    """The beginning of a sentence on the same holes again."""
    words = speaker.catalogue
    place = words.say("move.the", move=hole_words(move, words), count=len(move.holes))
    return speaker.say("lead.again", place=place)


def _several(speaker: Speaker, last: Move | None, move: Move) -> str:
    """The beginning of a sentence on several holes."""
    words = speaker.catalogue
    holes = words.join(move.holes)
    if last is not None and last.holes == move.holes and last.embouchure is move.embouchure:
        if last.breath is move.breath:
            return _again(speaker, move)
        return speaker.say(f"lead.same_holes.{move.breath}")
    if move.is_split:
        text = speaker.say(f"lead.split.{move.breath}", covered=covered_words(move, words), holes=holes)
    else:
        text = speaker.say(f"lead.together.{move.breath}", holes=holes)
    way = 0 if last is None else _way(last, move)
    if abs(way) < LEAP_HOLES:
        return text
    return speaker.say(f"lead.leap.several_{'up' if way > 0 else 'down'}", what=text)


def _single(speaker: Speaker, last: Move, move: Move) -> str:
    """The beginning of a sentence on one hole, coming from another move."""
    place, hole, breath = hole_words(move, speaker.catalogue), str(move.holes[0]), _breath(move)
    turns, way = last.breath is not move.breath, _way(last, move)
    if len(last.holes) > 1 and abs(way) <= 1:
        return speaker.say("lead.alone", place=place)
    if way == 0:
        if turns:
            return speaker.say(f"lead.same_hole.{breath}", holes=hole)
        return _again(speaker, move)
    side = "up" if way > 0 else "down"
    if abs(way) > 1:
        far = "leap" if abs(way) >= LEAP_HOLES else "skip"
        return speaker.say(f"lead.{far}.{side}_turn" if turns else f"lead.{far}.{side}", place=place)
    if turns:
        return speaker.say(f"lead.{side}.{breath}", holes=hole)
    return speaker.say(f"lead.{side}.same", place=place)


def _run(speaker: Speaker, moves: Iterable[Move]) -> str:
    """The moves of a run, one after another."""
    return speaker.catalogue.join([move_in_sentence(move, speaker.catalogue, "the") for move in moves])


def _beginning(speaker: Speaker, before: RouteEvent | None, now: RouteEvent, move: Move) -> str:
    place = hole_words(move, speaker.catalogue)
    last = ending_move(before)
    if len(move.holes) > 1:
        return _several(speaker, last, move)
    if now.choice.lead_in:
        if len(now.choice.lead_in) == 1:
            run = move_words(now.choice.lead_in[0], speaker.catalogue, short=True)
            return speaker.say("lead.run_from", move=run, place=place)
        return speaker.say("lead.run_in", moves=_run(speaker, now.choice.lead_in), place=place)
    if now.event.grace and before is not None:
        return speaker.say("lead.grace", place=place)
    if last is None:
        return speaker.say("lead.start" if before is None else "lead.plain", place=place)
    return _single(speaker, last, move)


def _attack(speaker: Speaker, attack: float, depth: int) -> str:
    """The clause of a note that starts below its pitch (attack under 0) or above it."""
    if attack > 0:
        return speaker.say("clause.press_in", bend=_named_bend(speaker, depth))
    if -attack < 1 and depth == 0:
        return speaker.say("clause.attack_dip")
    amount = speaker.say("depth.by", count=depth - attack)
    if depth == 0:
        return speaker.say("clause.attack", amount=amount)
    return speaker.say("clause.attack_to", amount=amount, bend=_named_bend(speaker, depth))


def _fall(speaker: Speaker, fall: float, depth: int) -> str:
    """The clause of a note that ends below its pitch (fall under 0) or above it."""
    if fall > 0:
        if depth == fall:
            return speaker.say("clause.rise")
        return speaker.say("clause.rise_to", bend=_named_bend(speaker, depth - fall))
    if depth:
        return speaker.say("clause.fall_to", bend=_named_bend(speaker, depth - fall))
    if -fall < 1:
        return speaker.say("clause.fall_dip")
    return speaker.say("clause.fall", amount=speaker.say("depth.by", count=-fall))


def _tongue(speaker: Speaker, before: RouteEvent | None, move: Move) -> list[str]:
    """The clause of a change between lips and tongue that the holes themselves do not tell."""
    last = ending_move(before)
    was = last is not None and last.embouchure is Embouchure.TONGUE
    now = move.embouchure is Embouchure.TONGUE
    if now and not move.is_split and not was:
        return [speaker.say("clause.tongued")]
    return [speaker.say("clause.lips")] if was and not now and last is not None and not last.is_split else []


def _clauses(speaker: Speaker, now: RouteEvent, move: Move, *, bend_said: bool, unsaid: frozenset[str]) -> list[str]:
    """What is done on a note after its beginning, but for the ornaments ``unsaid``."""
    choice, depth, clauses = now.choice, _depth(move), list[str]()
    if choice.attack_semitones:
        clauses.append(_attack(speaker, choice.attack_semitones, depth))
    elif move.is_dip and not bend_said:
        clauses.append(speaker.say("clause.dip"))
    elif depth and not bend_said:
        clauses.append(speaker.say("clause.bend", amount=speaker.say("depth.by", count=depth)))
    if choice.fall_semitones:
        clauses.append(_fall(speaker, choice.fall_semitones, depth))
    if choice.lead_out:
        if len(choice.lead_out) > 1:
            clauses.append(speaker.say("clause.run_out", moves=_run(speaker, choice.lead_out)))
        else:
            run = move_words(choice.lead_out[0], speaker.catalogue, short=True)
            clauses.append(speaker.say("clause.run_to", move=run))
    if now.event.ornaments.accent and "accent" not in unsaid:
        holes = len(move.holes)
        clauses.append(speaker.say("clause.accent_all", count=holes) if holes > 1 else speaker.say("clause.accent"))
    if now.event.ornaments.vibrato and "vibrato" not in unsaid:
        clauses.append(speaker.say("clause.vibrato"))
    return clauses


def move_sentence(
    speaker: Speaker,
    before: RouteEvent | None,
    now: RouteEvent,
    *,
    joined: bool,
    times: int = 1,
    unsaid: frozenset[str] = frozenset(),
) -> str:
    """The sentence that says how an event is played.

    before : the last event played before in the same part (one left out, where none was), None where the sentence
        begins anew.
    joined : whether the sound of the event before goes on into this one.
    times : how often the event is played in a row.
    unsaid : names of ornaments that are said elsewhere, for several notes together.
    """
    move = now.choice.move
    if move is None:
        return speaker.sentence("step.silent")
    short = [speaker.say("clause.grace")] if now.event.grace and before is None else []
    plain_attack = not now.choice.attack_semitones and not now.choice.lead_in and not now.event.grace
    changed = None
    if before is not None and joined and plain_attack and len(move.holes) == 1:
        changed = _on_hole(speaker, before, move)
    beginning = changed or _beginning(speaker, before, now, move)
    more = _clauses(speaker, now, move, bend_said=changed is not None, unsaid=unsaid)
    clauses = [*_tongue(speaker, before, move), *more, *short]
    if times > 1:
        clauses.append(speaker.say("clause.times", count=times))
    text = beginning
    for clause in clauses:
        text = speaker.say("clause.link", a=text, b=clause)
    return speaker.catalogue.sentence(text)

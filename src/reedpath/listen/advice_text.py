"""Advice in words: what went well, what helps, what comes next, the harp that is heard, and many tries."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reedpath.arrange import Route
from reedpath.data import replace
from reedpath.harp import Alteration
from reedpath.listen.advice import OF_HOLES, OF_THE_WHOLE
from reedpath.listen.answer import Extra, NextStep, PlayAnswer, Practise, Praise, Tries
from reedpath.listen.answer_kinds import FaultKind, NextStepKind, PraiseKind, Trend
from reedpath.listen.play_through import HarpHeard
from reedpath.phrase import metre_at, numbered_bars
from reedpath.wording import Catalogue, bars_words, counted_bpm, harp_words

# kinds whose sentence says already what to do (`listen.fault` in the catalogues)
_WITH_REMEDY = OF_HOLES | OF_THE_WHOLE | {FaultKind.GLIDE, FaultKind.UNSTEADY, FaultKind.RESTART}
# praise that names the bars in which it is earned
_WITH_PLACE = {PraiseKind.ROW, PraiseKind.WENT_ON}


def place_words(route: Route, events: Sequence[int], words: Catalogue, *, singly: bool = True) -> str:
    """The bars of some events in words, each by itself or in runs."""
    numbered = numbered_bars(route.phrase)
    onsets = sorted(route.phrase.events[event].onset for event in events)
    return bars_words([numbered.at(onset) for onset in onsets], words, singly=singly)


def _percent(share: float) -> int:
    return round(100.0 * share)


def praise_words(praise: Praise, route: Route, words: Catalogue) -> str:
    """One thing that went well, as a sentence."""
    key = f"listen.well.{praise.kind.value.replace(' ', '_')}"
    offered: dict[str, str | float] = {"count": praise.count}
    if praise.kind in _WITH_PLACE:
        offered["place"] = place_words(route, praise.events, words, singly=False)
    return words.say(
        key, variant=0, **{name: value for name, value in offered.items() if name in words.messages[key].gaps}
    )


def _of_another(thing: Practise, play: PlayAnswer) -> str:
    """The remedy for another note in place of one: where the hole is right, it need not be looked for."""
    asked, found = thing.move, [one.heard for one in play.events if one.event in thing.events]
    heard = {one for one in found if one is not None}
    if asked is None or not heard or any(one.holes != asked.holes for one in heard):
        return "another"
    if any(one.breath is not asked.breath for one in heard):
        return "breath" if all(one.breath is not asked.breath for one in heard) else "another"
    kinds = {asked.alteration, *(one.alteration for one in heard)}
    if not kinds <= {Alteration.NATURAL, Alteration.BEND}:
        return "another"
    sides = {one.semitones > asked.semitones for one in heard}
    return "another" if len(sides) > 1 else "not_bent" if sides == {True} else "bent"


def others_too_many(thing: Practise, play: PlayAnswer) -> list[Extra]:
    """The notes too many that a thing worth practising tells of, where none of them is the note itself once more."""
    if thing.kind is not FaultKind.EXTRA:
        return []
    extras = [one for one in play.extras if one.after in thing.events and not one.leads]
    return [] if any(one.again for one in extras) else extras


def remedy_words(thing: Practise, play: PlayAnswer, words: Catalogue) -> str:
    """What helps against something worth practising, empty where its own sentence says it.

    play : the play-through in which it was heard.
    """
    bent = thing.move is not None and thing.move.alteration is Alteration.BEND
    if thing.kind in _WITH_REMEDY or (bent and thing.kind in (FaultKind.FLAT, FaultKind.SHARP)):
        return ""
    name = _of_another(thing, play) if thing.kind is FaultKind.ANOTHER else thing.kind.value.replace(" ", "_")
    if others_too_many(thing, play):
        name = "extra_other"
    return words.say(f"listen.remedy.{name}")


def next_step_words(step: NextStep, harp_heard: HarpHeard | None, route: Route, words: Catalogue) -> str:
    """The next step, as a sentence.

    harp_heard : another harp than the lesson's. route : of the lesson.
    """
    key = f"listen.next.{step.kind.value}"
    values: dict[str, str | float] = {}
    if step.bpm is not None:
        first = route.phrase.events[0].onset
        values["bpm"] = round(counted_bpm(step.bpm, metre_at(route.phrase, first)))
    if step.first is not None and step.last is not None:
        values["place"] = place_words(route, range(step.first, step.last + 1), words, singly=False)
    if step.kind is NextStepKind.HARP and harp_heard is not None:
        if harp_heard.semitones % 12 == 0:
            key = "listen.next.place"
        else:
            values["asked"] = harp_words(route.harp, words)
    told = {name: value for name, value in values.items() if name in words.messages[key].gaps}
    return words.sentence(words.say(key, variant=0, **told))


def harp_heard_words(heard: HarpHeard, route: Route, words: Catalogue) -> str:
    """On which harp, or where on it, a take is played in place of what was asked, as a sentence.

    route : of the lesson.
    """
    if heard.holes:
        return words.say(f"listen.harp.holes_{'right' if heard.holes > 0 else 'left'}", count=abs(heard.holes))
    side = "higher" if heard.octaves > 0 else "lower"
    if heard.semitones % 12 == 0:
        return words.say(f"listen.harp.octave_{side}", count=abs(heard.octaves))
    played = replace(route.harp, key_midi=route.harp.key_midi + heard.semitones - 12 * heard.octaves)
    own = words.say("listen.harp.instead", heard=harp_words(played, words), asked=harp_words(route.harp, words))
    if not heard.octaves:
        return own
    return f"{own} {words.say(f'listen.harp.besides_{side}', count=abs(heard.octaves))}"


def tries_words(tries: Tries, route: Route, words: Catalogue) -> Iterator[str]:
    """What becomes of it from try to try, and of its tempo; what comes back is told apart."""
    values = {"before": _percent(tries.first_share), "now": _percent(tries.last_share)}
    key = f"listen.tries.{tries.trend.value}"
    yield words.say(
        key, variant=0, **{name: value for name, value in values.items() if name in words.messages[key].gaps}
    )
    if tries.first_bpm is None or tries.last_bpm is None:
        return
    metre = metre_at(route.phrase, route.phrase.events[0].onset)
    before, now = (round(counted_bpm(bpm, metre)) for bpm in (tries.first_bpm, tries.last_bpm))
    name = "slower" if now < before else "too_fast" if tries.trend is Trend.WORSE else "faster"
    yield words.say(f"listen.tries.{name}", before=before, now=now)

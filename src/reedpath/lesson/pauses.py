"""Pauses: what is said before an event or a part: changes of tempo and metre, the rest to wait, the breath."""

from __future__ import annotations

from collections.abc import Iterator

from reedpath.harp import Breath
from reedpath.lesson.model import Step, StepKind
from reedpath.lesson.spoken_route import COUNTED_REST, SAID_REST, SpokenRoute, has_eighths
from reedpath.lesson.time_signs import TimeChange, TimeSign
from reedpath.phrase import metre_at, numbered_bars, practice_beat


def _breath_key(spoken: SpokenRoute, index: int) -> str:
    """Which way the air goes in the breath before an event, as far as the air left tells."""
    if index == 0:
        return "step.breathe"
    event, before = spoken.event(index), spoken.event(index - 1)
    rises = event.air_litres > before.air_litres
    if event.choice.move is None or event.air_litres == before.air_litres:
        return "step.breathe"
    if event.choice.move.breath is Breath.DRAW:
        return "step.breathe" if rises else "step.breathe_out"
    return "step.breathe_in" if rises else "step.breathe"


def _short_rest(spoken: SpokenRoute, index: int, key: str) -> str:
    """A rest of less than a beat: by its half where beats have halves, else by its eighths."""
    length = spoken.gap(index)
    metre = metre_at(spoken.route.phrase, spoken.event(index).event.onset)
    if has_eighths(metre):
        return spoken.speaker.sentence(key, beats=spoken.length_words(index, length))
    return spoken.speaker.sentence(f"{key}_short")


def pause_steps(spoken: SpokenRoute, index: int, *, opens: bool, about: int) -> Iterator[Step]:
    """Rest and breath before an event, as a part opens or on its way; steps of the events from ``about`` on."""
    speaker, event, silence = spoken.speaker, spoken.event(index), spoken.silence(index)
    if index == 0 and spoken.route.breathe_first is not None:
        key = "step.first_out" if spoken.route.breathe_first is Breath.BLOW else "step.first_in"
        yield Step(speaker.sentence(key), StepKind.BREATH, about, index)
    rest = "step.opening_rest" if opens else "step.rest"
    if silence >= COUNTED_REST:
        key = f"{rest}_breathe" if event.breathe_before else rest
        kind = StepKind.BREATH if event.breathe_before else StepKind.REST
        beats = spoken.length_words(index, spoken.gap(index))
        yield Step(speaker.sentence(key, beats=beats), kind, about, index)
    elif event.breathe_before:
        yield Step(speaker.sentence(_breath_key(spoken, index)), StepKind.BREATH, about, index)
    elif silence >= SAID_REST:
        yield Step(_short_rest(spoken, index, rest), StepKind.REST, about, index)


def _sign_words(spoken: SpokenRoute, sign: TimeSign) -> str:
    speaker, beat = spoken.speaker, practice_beat(sign.metre)
    if sign.change in (TimeChange.METRE, TimeChange.ONE_BAR):
        metre = sign.metre.name
        return speaker.say(f"time.{sign.change}", count=int(sign.metre.bar / beat), metre=metre)
    if sign.change is TimeChange.BACK:
        return speaker.say("time.back")
    bpm = speaker.catalogue.number(round(sign.bpm / float(beat)))
    return speaker.say(f"time.{sign.change}", bpm=bpm)


def sign_steps(spoken: SpokenRoute, index: int, *, about: int) -> Iterator[Step]:
    """The changes of tempo and metre at an event."""
    for sign in spoken.signs:
        if sign.event == index:
            text = spoken.speaker.catalogue.sentence(_sign_words(spoken, sign))
            yield Step(text, StepKind.TIME, about, index)


def steps_before(spoken: SpokenRoute, first: int, last: int) -> Iterator[Step]:
    """What is said before a stretch that was played before: changes of tempo and metre in it, rest and breath.

    They are steps of the event before and of the first one, for what lies between the two.
    """
    about = max(0, first - 1)
    yield from sign_steps(spoken, first, about=about)
    for sign in spoken.signs:
        if first < sign.event <= last:
            from reedpath.wording import bars_words  # most lessons name no bar in their steps

            phrase = spoken.route.phrase
            bars = bars_words([numbered_bars(phrase).at(sign.onset)], spoken.speaker.catalogue)
            text = spoken.speaker.sentence("time.in_bar", bars=bars, what=_sign_words(spoken, sign))
            yield Step(text, StepKind.TIME, about, first)
    yield from pause_steps(spoken, first, opens=True, about=about)

"""Choosing what the band plays under a lesson: the key, the form and the groove.

A form suits a phrase as far as the phrase's notes lie in its chords. Blue notes (minor third, flat fifth and
minor seventh of the key) count as half, for a blues wears them over any of its chords.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from msgspec.structs import replace

from reedpath.arrange import Route
from reedpath.errors import SoundError
from reedpath.harmony import (
    BLUE_STEPS,
    FOUR_FORMS,
    Form,
    core_bars,
    form_names,
    form_worth,
    load_form,
    placed,
)
from reedpath.phrase import Phrase, bars, beat_of, metre_at, timing_of
from reedpath.pitch import Key
from reedpath.sound.band import Groove, groove_names, load_groove

# worth of a note in the chord, and of a blue note; our choice
IN_CHORD, BLUE_WORTH = 1.0, 0.5
# share of fit that a longer form must bring before the one chord is left, so that a riff stays a riff; our choice
LEAST_GAIN = 0.03
# bars: phrases up to the first play over one chord; up to the second over an eight-bar form; longer ones over
# twelve; our choice
ONE_CHORD_BARS, EIGHT_BARS = 4, 8
# quarter notes of the bars a band can play: 4/4 and 2/2, and 12/8
FOUR_BEATS = (Fraction(4), Fraction(6))
# swing of a lesson in plain quarters under a groove that swings: a triplet shuffle; common practice, no source
TRIPLET_SWING = Fraction(2)


@dataclass(frozen=True, slots=True)
class Chosen:
    """What the band plays, and the route as it then goes.

    route : the route given, swung where the groove needs it and no note is moved by it.
    at_bars : bars of the form, from 1, at which the phrase stands; none for the beginning of each round.
    """

    form: Form
    groove: Groove
    key: Key
    route: Route
    at_bars: tuple[int, ...] = ()


def music_key(route: Route) -> Key:
    """The key that sounds: the phrase's own, else the harp's in the route's position."""
    if route.phrase.key is not None:
        return route.phrase.key
    if route.position is not None:
        return Key((route.harp.key_midi + 7 * (route.position - 1)) % 12)
    raise SoundError("sound.no_key")


def bars_of(phrase: Phrase) -> int:
    """Full bars that a phrase reaches into, at least 1; an error for a metre that the band cannot play."""
    found = [bar for bar in bars(phrase) if bar.number > 0]
    for bar in found:
        if bar.metre.bar not in FOUR_BEATS or bar.metre.bar / beat_of(bar.metre) not in (2, 4):
            raise SoundError("sound.metre", count=bar.metre.count, unit=bar.metre.unit)
    if len({bar.metre.bar for bar in found}) > 1:
        raise SoundError("sound.changing_metre")
    return max(1, len(found))


def fit_of(form: Form, phrase: Phrase, key: Key) -> float:
    """How well a phrase lies on a form's chords, 0 to 1; 1 for an empty one."""
    starts = [bar for bar in bars(phrase) if bar.number > 0]
    worth, whole = 0.0, 0.0
    for event in phrase.events:
        place = max((index for index, bar in enumerate(starts) if bar.onset <= event.onset), default=0)
        inside = float((event.onset - starts[place].onset) / starts[place].metre.bar) if starts else 0.0
        chords = form.chords_of_bar(place, key)
        chord = chords[min(len(chords) - 1, max(0, int(inside * len(chords))))]
        for midi in event.midi:
            weight = float(event.duration) / len(event.midi)
            whole += weight
            if midi % 12 in chord.pitch_classes:
                worth += weight * IN_CHORD
            elif (midi - key.tonic) % 12 in BLUE_STEPS:
                worth += weight * BLUE_WORTH
    return worth / whole if whole else 1.0


def choose_form(phrase: Phrase, key: Key) -> Form:
    """The form that a phrase lies best on, of those about as long and of the key's mode."""
    count = bars_of(phrase)
    one_chord = load_form("one-chord")
    if count <= ONE_CHORD_BARS:
        return one_chord
    length = 8 if count <= EIGHT_BARS else 12
    forms = [load_form(name) for name in form_names()]
    suited = [form for form in forms if form.mode in (key.third, "any") and len(form.bars) in (length, 2)]
    best = max(suited, key=lambda form: (fit_of(form, phrase, key), form.name == "twelve-bar"))
    gain = fit_of(best, phrase, key) - fit_of(one_chord, phrase, key)
    return best if gain >= LEAST_GAIN else one_chord


def _bars_in(form: Form, phrase: Phrase, at_bars: Sequence[int], *, as_turnaround: bool) -> tuple[int, ...]:
    """The bars of a form at which a phrase stands, in order; as a turnaround it ends with the form."""
    last = max(1, len(form.bars) - core_bars(phrase) + 1)
    return tuple(sorted({*at_bars, *((last,) if as_turnaround else ())}))


def choose_form_at(phrase: Phrase, key: Key, at_bars: Sequence[int], *, as_turnaround: bool = False) -> Form:
    """The form of several chords, of the key's mode, in which a phrase sits best at bars of it."""
    usual = load_form(FOUR_FORMS[key.third])
    longest = max(at_bars, default=1)
    forms = [load_form(name) for name in form_names()]
    suited = [form for form in forms if form.mode == key.third and len(form.bars) >= longest]

    def worth(form: Form) -> tuple[Fraction, bool]:
        bars = _bars_in(form, phrase, at_bars, as_turnaround=as_turnaround)
        whole = sum((placed(phrase, form, key, bar).total for bar in bars), Fraction(0)) / len(bars)
        return form_worth(form.name, whole, key), form.name == usual.name

    return max(suited, key=worth, default=usual)


def choose_groove(form: Form, bpm: float, *, is_swung: bool) -> Groove:
    """The groove for a form at a tempo (quarter notes a minute), swung or straight."""
    unwanted = "unwanted" if is_swung else "needed"
    grooves = [load_groove(name) for name in groove_names()]
    autos = ("any", "minor") if form.mode == "minor" else ("any",)
    suited = [groove for groove in grooves if groove.swing != unwanted and groove.auto in autos]

    def distance(groove: Groove) -> tuple[float, bool, bool, bool]:
        outside = max(0.0, groove.slowest_bpm - bpm, bpm - groove.fastest_bpm)
        boogie = groove.swing == "either"
        is_riff = len(form.bars) <= ONE_CHORD_BARS
        return outside, boogie is not is_riff, bpm > groove.fastest_bpm * 0.95, groove.auto == "any"

    return min(suited, key=distance)


def _is_on_the_beat(phrase: Phrase) -> bool:
    """Whether no note falls between beats but on triplets, so that swing would not move it."""
    places = [(event.onset - phrase.pickup) % 1 for event in phrase.events]
    return all(place == 0 or place.denominator % 3 == 0 for place in places)


def _swung_for(groove: Groove, route: Route, *, swings: bool) -> Route:
    """The route as the groove has it; an error where the two contradict one another."""
    if groove.swing == "unwanted" and swings:
        raise SoundError("sound.straight_groove", groove=groove.name)
    if groove.swing != "needed" or swings:
        return route
    if not _is_on_the_beat(route.phrase):
        raise SoundError("sound.swung_groove", groove=groove.name)
    return replace(route, phrase=replace(route.phrase, swing=TRIPLET_SWING))


def choose(
    route: Route,
    *,
    form: str = "auto",
    groove: str = "auto",
    key: Key | None = None,
    at_bars: Sequence[int] = (),
    as_turnaround: bool = False,
) -> Chosen:
    """What the band plays under a route: named forms and grooves, or the ones that suit it.

    at_bars, as_turnaround : where in the form the phrase is to stand, if it is to.

    Raises
    ------
    SoundError
        For a metre the band cannot play, an unknown key, or a groove that the phrase's swing contradicts.
    SettingsError
        For an unknown form or groove.
    """
    phrase, music = route.phrase, key or music_key(route)
    bars_of(phrase)
    metre = metre_at(phrase, Fraction(0))
    swings = phrase.swing != 1 or metre.bar == FOUR_BEATS[1]
    counted_bpm = timing_of(phrase).tempos[0].bpm / float(metre.bar / 4)
    if form != "auto":
        kept = load_form(form)
    elif at_bars or as_turnaround:
        kept = choose_form_at(phrase, music, at_bars, as_turnaround=as_turnaround)
    else:
        kept = choose_form(phrase, music)
    played = choose_groove(kept, counted_bpm, is_swung=swings) if groove == "auto" else load_groove(groove)
    bars = _bars_in(kept, phrase, at_bars, as_turnaround=as_turnaround)
    return Chosen(kept, played, music, _swung_for(played, route, swings=swings), bars)

"""Choosing what the band plays under a lesson: the key, the form and the groove.

A form suits a phrase as far as the phrase's notes lie in its chords. Blue notes (minor third, flat fifth and
minor seventh of the key) count as half, for a blues wears them over any of its chords.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from msgspec.structs import replace

from reedpath.arrange import Route
from reedpath.errors import SoundError
from reedpath.harmony import BLUE_STEPS, Form, form_names, load_form
from reedpath.phrase import Phrase, bars, beat_of, metre_at, timing_of
from reedpath.pitch import Key
from reedpath.sound.band import Groove, groove_names, load_groove

__all__ = ["Chosen", "bars_of", "choose", "choose_form", "choose_groove", "fit_of", "music_key"]

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
    """

    form: Form
    groove: Groove
    key: Key
    route: Route


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
    suited = [form for form in forms if form.mode in (key.mode, "any") and len(form.bars) in (length, 2)]
    best = max(suited, key=lambda form: (fit_of(form, phrase, key), form.name == "twelve-bar"))
    gain = fit_of(best, phrase, key) - fit_of(one_chord, phrase, key)
    return best if gain >= LEAST_GAIN else one_chord


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


def choose(route: Route, *, form: str = "auto", groove: str = "auto", key: Key | None = None) -> Chosen:
    """What the band plays under a route: named forms and grooves, or the ones that suit it.

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
    kept = choose_form(phrase, music) if form == "auto" else load_form(form)
    played = choose_groove(kept, counted_bpm, is_swung=swings) if groove == "auto" else load_groove(groove)
    return Chosen(kept, played, music, _swung_for(played, route, swings=swings))

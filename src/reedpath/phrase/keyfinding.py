"""Key finding: the key a phrase is most likely in, and how sure that is.

Method: Krumhansl's (Cognitive Foundations of Musical Pitch, 1990): the durations of the twelve pitch classes
are correlated with a profile of each key. Differences from it:

- a note that could be the tonic, third or fifth of the key and ends the phrase speaks for that key;
- a third profile, of our own, for a blues: both thirds and the lowered seventh over a major tonic. A blues
  without its major third is called minor, one with it major;
- the scores become probabilities by exp(score / T), so that confidence means something: T was set on the
  public-domain tunes of Ryan's Mammoth Collection, whole and in excerpts of 8 to 64 notes, and checked on
  O'Neill's (both in music21's corpus), where a confidence of 0.8 is right about 8 times in 10.
"""

from __future__ import annotations

import math
from functools import cache
from typing import Annotated

from msgspec import Meta, Struct

from reedpath.data import read_tables, shipped_text
from reedpath.errors import Place, SettingsError
from reedpath.phrase.events import Phrase
from reedpath.pitch import Key

_FILE = "keyprofiles.toml"

# added to a correlation where the last note is the key's tonic; set on Ryan's (see above)
LAST_NOTE_WEIGHT = 0.15
# share of that where the last note is the key's third or fifth; set on Ryan's
LAST_NOTE_SHARE = 0.3
# taken off the blues profile's correlation: a blues is the rarer case; set on Ryan's
BLUES_HANDICAP = 0.05
# unit of correlation in which probabilities fall by e; set on Ryan's
TEMPERATURE = 0.08
# share of the minor third's time under which a major third does not count; ours
MAJOR_THIRD_SHARE = 0.15

_MODES = ("major", "minor")
_THIRD = {"major": 4, "minor": 3, "blues": 3}


# twelve weights, from the tonic up by semitones
Twelve = tuple[float, float, float, float, float, float, float, float, float, float, float, float]


class _BluesFile(Struct, frozen=True, forbid_unknown_fields=True):
    """A profile of a blues as its file says it."""

    source: Annotated[str, Meta(min_length=1)]
    weights: Twelve


class _ProfilesFile(Struct, frozen=True, forbid_unknown_fields=True):
    """A set of profiles as its file says it, under its name."""

    source: Annotated[str, Meta(min_length=1)]
    major: Twelve
    minor: Twelve
    blues: _BluesFile | None = None


class KeyProfiles(Struct, frozen=True):
    """How much each pitch class belongs to a key; each profile has twelve weights, from the tonic up by semitones.

    name : of the set.
    major, minor : of the two modes.
    blues : of a blues in major, None where the set has none.
    """

    name: str
    major: Twelve
    minor: Twelve
    blues: Twelve | None = None


def parse_key_profiles(text: str) -> dict[str, KeyProfiles]:
    """The sets of a profile file's text, by name; SettingsError names file, set and field."""
    found: dict[str, KeyProfiles] = {}
    for name, one in read_tables(text, _ProfilesFile, file=_FILE).items():
        found[name] = KeyProfiles(name, one.major, one.minor, one.blues.weights if one.blues else None)
        for weights in (one.major, one.minor, found[name].blues):
            if weights is not None and len(set(weights)) < 2:
                raise SettingsError("phrase.flat_profile", where=Place(file=_FILE, field=name))
    return found


@cache
def _shipped() -> dict[str, KeyProfiles]:
    return parse_key_profiles(shipped_text("reedpath.phrase", _FILE))


def profile_names() -> tuple[str, ...]:
    """Names of the shipped sets, the usual one first."""
    return tuple(_shipped())


def load_key_profiles(name: str) -> KeyProfiles:
    """The shipped set of that name."""
    if name not in _shipped():
        raise SettingsError("phrase.unknown_profiles", name=name, known=profile_names())
    return _shipped()[name]


class KeyGuess(Struct, frozen=True):
    """The most likely key of a phrase.

    key : the guess; None for a phrase without pitches, or with one pitch class only.
    confidence : probability that it is right, 0 to 1; 0 without a guess.
    runner_up : the next likely key.
    blues : whether the notes are those of a blues on its tonic.
    """

    key: Key | None
    confidence: float = 0.0
    runner_up: Key | None = None
    blues: bool = False


def _durations(phrase: Phrase) -> list[float]:
    """Beats that each of the twelve pitch classes sounds."""
    beats = [0.0] * 12
    for event in phrase.events:
        for midi in event.midi:
            beats[midi % 12] += float(event.duration)
    return beats


def _correlation(first: list[float], second: tuple[float, ...], turn: int) -> float:
    """Pearson's, of twelve numbers with twelve others turned so that the latter start at ``turn``."""
    turned = [second[(index - turn) % 12] for index in range(12)]
    mean_first, mean_second = sum(first) / 12, sum(turned) / 12
    pairs = [(a - mean_first, b - mean_second) for a, b in zip(first, turned, strict=True)]
    spread = math.sqrt(sum(a * a for a, _ in pairs) * sum(b * b for _, b in pairs))
    return sum(a * b for a, b in pairs) / spread


def _ending(last: int, tonic: int, kind: str) -> float:
    degree = (last - tonic) % 12
    if degree == 0:
        return LAST_NOTE_WEIGHT
    return LAST_NOTE_WEIGHT * LAST_NOTE_SHARE if degree in (7, _THIRD[kind]) else 0.0


def _scores(beats: list[float], last: int, profiles: KeyProfiles) -> dict[tuple[str, int], float]:
    """Kind of profile and tonic -> score."""
    kinds = {"major": profiles.major, "minor": profiles.minor}
    if profiles.blues is not None:
        kinds["blues"] = profiles.blues
    return {
        (kind, tonic): _correlation(beats, weights, tonic)
        + _ending(last, tonic, kind)
        - (BLUES_HANDICAP if kind == "blues" else 0.0)
        for kind, weights in kinds.items()
        for tonic in range(12)
    }


def _mode_of(kind: str, tonic: int, beats: list[float]) -> str:
    if kind != "blues":
        return kind
    minor_third, major_third = beats[(tonic + 3) % 12], beats[(tonic + 4) % 12]
    return "minor" if major_third < MAJOR_THIRD_SHARE * minor_third else "major"


def find_key(phrase: Phrase, *, profiles: KeyProfiles | str = "temperley") -> KeyGuess:
    """
    The key that a phrase is most likely in, by its notes alone (``phrase.key`` is not looked at).

    profiles : a set of profiles, or the name of a shipped one.

    >>> from fractions import Fraction
    >>> from reedpath.phrase import Event
    >>> scale = [Event(Fraction(i), Fraction(1), (m,)) for i, m in enumerate((60, 64, 67, 65, 62, 59, 60))]
    >>> find_key(Phrase(tuple(scale))).key
    Key(tonic=0, mode='major')
    """
    chosen = load_key_profiles(profiles) if isinstance(profiles, str) else profiles
    beats = _durations(phrase)
    if sum(1 for one in beats if one) < 2 or len(set(beats)) == 1:
        return KeyGuess(None)
    scores = _scores(beats, phrase.events[-1].midi[-1] % 12, chosen)
    best = max(scores.values())
    chances: dict[Key, float] = {Key(tonic, mode): 0.0 for mode in _MODES for tonic in range(12)}
    blues: dict[Key, float] = dict.fromkeys(chances, 0.0)
    for (kind, tonic), score in scores.items():
        key = Key(tonic, _mode_of(kind, tonic, beats))
        chance = math.exp((score - best) / TEMPERATURE)
        chances[key] += chance
        blues[key] += chance if kind == "blues" else 0.0
    first, second = sorted(chances, key=lambda key: -chances[key])[:2]
    confidence = chances[first] / sum(chances.values())
    return KeyGuess(first, confidence, second, blues=2 * blues[first] > chances[first])

"""Phrases in forms: where one sits in each form, and its version for the IV chord, arranged on the same harp."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from msgspec.structs import replace

from reedpath.arrange import Ranked, Route, survey
from reedpath.errors import SettingsError
from reedpath.harmony import (
    Form,
    FormPlace,
    FourVersion,
    Rating,
    form_names,
    form_places,
    form_worth,
    is_too_long_for_the_four,
    load_form,
    moves_in_part,
    needs_no_version,
    over_the_four,
    placed,
    proposed_bars,
    versions_for_the_four,
)
from reedpath.jobs.arranging import RouteRequest, best_route
from reedpath.jobs.instruments import chosen_player
from reedpath.jobs.sources import ReadPhrase
from reedpath.lesson import Lesson
from reedpath.phrase import Phrase, performed
from reedpath.pitch import Key
from reedpath.sound import Backing, choose

# the form in which a phrase sits anywhere
ONE_CHORD = "one-chord"
# truth from which on a version is counted as played: a version is our own, of which a note in ten may be another; our
# choice
LEAST_TRUTH = 0.9


@dataclass(frozen=True, slots=True)
class PlacesInForm:
    """A phrase in a form: the places at which it may stand there, best first."""

    form: Form
    places: tuple[FormPlace, ...]


@dataclass(frozen=True, slots=True)
class ProposedPlaces:
    """Where a phrase would be played best: in which key and form, at which places of it, in order."""

    key: Key
    form: Form
    places: tuple[FormPlace, ...]


class FourState(StrEnum):
    """Whether there is a version of a phrase for the IV chord, or why not."""

    VERSION = "version"
    FITS = "fits"  # the phrase sits over that chord well itself
    LONG = "long"  # it lasts longer than the chord, and does not pause where that ends
    NONE = "none"  # no version sits well


@dataclass(frozen=True, slots=True)
class VersionCost:
    """A version of a phrase on a harp: how it comes of the phrase, points of effort, and truth, 0 to 1."""

    version: FourVersion
    effort: float
    truth: float


@dataclass(frozen=True, slots=True)
class ForTheFour:
    """A phrase over the IV chord.

    state : whether there is a version. as_it_is : the phrase itself in bar 5 of the twelve-bar blues.
    own : its route. version, route, place : how the version comes of it, its route on the same harp, and how it sits
        there. All None without a version, for which nothing is arranged. The version's phrase is the route's.
    others : the versions that sit there well too and cost more, best first.
    is_in_part : whether the call alone is adapted, and the answer stays.
    """

    state: FourState
    as_it_is: FormPlace
    own: Route | None = None
    version: FourVersion | None = None
    route: Route | None = None
    place: FormPlace | None = None
    others: tuple[VersionCost, ...] = ()
    is_in_part: bool = False


def _key_of(phrase: Phrase) -> Key:
    if phrase.key is None:
        raise SettingsError("jobs.places_need_key")
    return phrase.key


def places_in_forms(phrase: Phrase, *, form: str = "") -> tuple[PlacesInForm, ...]:
    """Where a phrase sits in each shipped form, or in one.

    Forms of its key's mode come first, of these that of a single chord last, and then those in which it sits best.
    """
    played, key = performed(phrase), _key_of(phrase)
    forms = [load_form(form)] if form else [load_form(name) for name in form_names()]
    found = [PlacesInForm(one, form_places(played, one, key)) for one in forms]

    def rank(one: PlacesInForm) -> tuple[bool, bool, Fraction, str]:
        is_other_mode = one.form.mode not in (key.third, "any")
        return is_other_mode, one.form.name == ONE_CHORD, -one.places[0].total, one.form.name

    return tuple(sorted(found, key=rank))


def asked_places(lesson: Lesson, backing: Backing) -> ProposedPlaces | None:
    """Where a lesson's phrase stands by the bars that a backing says, in which form; None where it says none."""
    if not (backing.at_bars or backing.as_turnaround):
        return None
    chosen = choose(
        lesson.route,
        form=backing.form,
        groove=backing.groove,
        key=backing.key,
        at_bars=backing.at_bars,
        as_turnaround=backing.as_turnaround,
    )
    places = tuple(placed(chosen.route.phrase, chosen.form, chosen.key, bar) for bar in chosen.at_bars)
    return ProposedPlaces(chosen.key, chosen.form, places)


def proposal_beside(lesson: Lesson, backing: Backing) -> ProposedPlaces | None:
    """Where a lesson's phrase would be played best, where a backing would put it elsewhere, and no person says where
    or it had better not stand there.
    """
    if lesson.route.phrase.key is None and backing.key is None:
        return None
    asked = asked_places(lesson, backing)
    if asked is not None and not any(one.rating is Rating.POOR for one in asked.places):
        return None
    chosen = choose(lesson.route, form=backing.form, groove=backing.groove, key=backing.key)
    proposed = proposal_for(replace(chosen.route.phrase, key=chosen.key))
    if proposed is None or (proposed.form == chosen.form and [one.bar for one in proposed.places] == [1]):
        return None
    return proposed


def proposal_for(phrase: Phrase) -> ProposedPlaces | None:
    """The form of several chords in which a phrase sits best, and where; None where it sits well in none.

    It is the usual twelve-bar blues of the key's mode, unless another suits the phrase clearly better.
    """
    key = _key_of(phrase)
    longer = [one for one in places_in_forms(phrase) if one.form.name != ONE_CHORD and one.form.mode == key.third]
    fitting = [one for one in longer if one.places[0].rating is Rating.GOOD]
    if not fitting:
        return None
    best = max(fitting, key=lambda one: form_worth(one.form.name, one.places[0].total, key))
    return ProposedPlaces(key, best.form, proposed_bars(best.places))


def _as_it_sounds(route: Route) -> Phrase:
    """The phrase of a route with the notes that the harp sounds; events that are silent are left out."""
    sounding = [(one.event, route.sounding_midi(index)) for index, one in enumerate(route.events)]
    events = tuple(replace(event, midi=tuple(sorted(set(midi))), cents=()) for event, midi in sounding if midi)
    return replace(route.phrase, events=events)


def _rank_of_version(line: Ranked, key: Key) -> tuple[bool, float]:
    """Easiest first of the versions that lose little and sit well as they sound; then the others by their score."""
    sits = line.truth >= LEAST_TRUTH and needs_no_version(over_the_four(_as_it_sounds(line.route()), key))
    return not sits, line.effort.total if sits else line.score


def for_the_four(read: ReadPhrase, request: RouteRequest) -> ForTheFour:
    """A phrase over the IV chord, and the version of it for that chord that is best played on the same harp.

    Of the versions that sit there well (`harmony.versions_for_the_four`) and whose best route loses little of them,
    at the pitch at which they are given, the easiest is taken; else the one with the best score.
    """
    key = _key_of(read.phrase)
    played = performed(read.phrase)
    as_it_is = over_the_four(played, key)
    if not versions_for_the_four(played, key):
        fits = FourState.FITS if as_it_is.rating is Rating.GOOD else FourState.NONE
        return ForTheFour(FourState.LONG if is_too_long_for_the_four(played) else fits, as_it_is)
    own = best_route(read.phrase, request, read.typed)
    phrase = own.phrase
    key = _key_of(phrase)
    versions = versions_for_the_four(phrase, key)
    player = chosen_player(request.player)
    ranked = {
        version: survey(one, [own.harp], shifts=(0,), player=player, top=1).ranked[0]
        for version, one in versions.items()
    }
    best, *left = sorted(ranked, key=lambda version: _rank_of_version(ranked[version], key))
    route = ranked[best].route(alike=True)
    if phrase.title:
        route = replace(route, phrase=replace(route.phrase, title=f"{phrase.title} (IV)"))
    others = tuple(VersionCost(one, ranked[one].effort.total, ranked[one].truth) for one in left)
    place = over_the_four(route.phrase, key)
    in_part = moves_in_part(phrase)
    return ForTheFour(FourState.VERSION, over_the_four(phrase, key), own, best, route, place, others, in_part)

"""What a person chose of the band: groove, variation, looseness, introduction, and where in the form a phrase stands.

A choice is kept with a lesson or a draft, and is asked anew of each lesson: the best place in the form is found for
what is then played, and for each piece of several. What comes of it is a `Backing`, as of the command line.
"""

from __future__ import annotations

from enum import StrEnum
from functools import lru_cache
from typing import Annotated, Any

from msgspec import Meta, Struct

from reedpath.arrange import Route
from reedpath.data import encode_json, read_json, replace
from reedpath.errors import SettingsError, SoundError
from reedpath.harmony import FormPlace, load_form, placed, proposed_bars
from reedpath.jobs.phrase_places import ProposedPlaces, places_in_forms, proposal_for
from reedpath.sound import Backing, Turns, choose
from reedpath.sound.band import load_groove
from reedpath.sound.choosing import Chosen
from reedpath.wording import Catalogue, form_title, place_bars_words, place_reason, place_starts_words

AUTO = "auto"
# a page that changes no note asks for the same again
proposal_known = lru_cache(maxsize=16)(proposal_for)
Named = Annotated[str, Meta(max_length=40)]


class PlaceWish(StrEnum):
    """Where in the form a phrase is to stand."""

    START = "start"  # it begins each round
    BEST = "best"  # at the bars at which it sits best
    OWN = "own"  # at bars that a person says


class BandChoice(Struct, frozen=True, omit_defaults=True, kw_only=True, forbid_unknown_fields=True):
    """What a person chose of the band; as it is, what the command line does when nothing is said.

    form, groove : names of shipped ones, or "auto". turns, rounds, intro, seed, looseness : see `sound.Backing`.
    place : where in the form the phrase stands; at_bars, as_turnaround : where the person says so.
    """

    form: Named = AUTO
    groove: Named = AUTO
    turns: Turns = Turns.TOGETHER
    rounds: int = 2
    place: PlaceWish = PlaceWish.START
    at_bars: tuple[int, ...] = ()
    as_turnaround: bool = False
    intro: int = 0
    seed: int = 2
    looseness: float = 1.0


class SaidPlaces(Struct, frozen=True):
    """Where in the form a phrase stands, in words.

    title : the piece's, empty where there is one alone.
    best, best_why : the form and the bars of it at which it sits best, and why; empty for one that sits well in none.
    here : for each place at which it now stands, its bars, how it sits there, and why.
    form : in which form that is.
    """

    title: str = ""
    best: str = ""
    best_why: str = ""
    form: str = ""
    here: tuple[tuple[str, str, str], ...] = ()


def encode_band(choice: BandChoice) -> str:
    """A choice as JSON text."""
    return encode_json(choice, indent=-1).decode().strip()


def decode_band(text: str) -> BandChoice:
    """A choice from JSON text, the usual one for none; ReadError for what is none."""
    return read_json(text.encode(), BandChoice) if text else BandChoice()


def _plain(choice: BandChoice, **play: Any) -> Backing:
    """The backing of a choice, but for the place in the form."""
    said: dict[str, Any] = {"turns": choice.turns, "rounds": choice.rounds, **play}
    return Backing(
        form=choice.form, groove=choice.groove, intro=choice.intro, seed=choice.seed, looseness=choice.looseness,
        **said,
    )  # fmt: skip


def check_band(choice: BandChoice) -> None:
    """SoundError or SettingsError for a choice that no lesson can be played with."""
    _plain(choice)
    if choice.form != AUTO:
        load_form(choice.form)
    if choice.groove != AUTO:
        load_groove(choice.groove)
    if choice.place is PlaceWish.OWN and not choice.at_bars and not choice.as_turnaround:
        raise SettingsError("jobs.no_bars_of_form")


def _best(choice: BandChoice, chosen: Chosen) -> ProposedPlaces | None:
    """Where a phrase sits best: in the form that is chosen, else in any; None where it sits well in none."""
    phrase = replace(chosen.route.phrase, key=chosen.key)
    if choice.form == AUTO:
        return proposal_known(phrase)
    found = places_in_forms(phrase, form=choice.form)[0]
    return ProposedPlaces(chosen.key, found.form, proposed_bars(found.places))


def _chosen(choice: BandChoice, route: Route) -> Chosen:
    return choose(route, form=choice.form, groove=choice.groove)


def backing_of(choice: BandChoice, route: Route, **play: Any) -> Backing:
    """What a band is to do under a route.

    play : what is said of the play-along beside the choice, or instead of it: turns, rounds, click_through ...

    Raises `SoundError` or `SettingsError` for what no band can play.
    """
    plain = _plain(choice, **play)
    if choice.place is PlaceWish.OWN:
        return replace(plain, at_bars=choice.at_bars, as_turnaround=choice.as_turnaround)
    best = _best(choice, _chosen(choice, route)) if choice.place is PlaceWish.BEST else None
    if best is None:
        return plain
    return replace(plain, form=best.form.name, at_bars=tuple(one.bar for one in best.places))


def _stands_at(choice: BandChoice, route: Route) -> tuple[Chosen, tuple[FormPlace, ...]]:
    """What a band plays, and the places of its form at which the phrase then stands."""
    backing = backing_of(choice, route)
    chosen = choose(
        route, form=backing.form, groove=backing.groove, at_bars=backing.at_bars,
        as_turnaround=backing.as_turnaround,
    )  # fmt: skip
    bars = chosen.at_bars or (1,)
    return chosen, tuple(placed(chosen.route.phrase, chosen.form, chosen.key, bar) for bar in bars)


def said_places(choice: BandChoice, route: Route, words: Catalogue, *, title: str = "") -> SaidPlaces:
    """Where a route's phrase stands in the form and where it would sit best; nothing where no band can play it."""
    try:
        best = _best(choice, _chosen(choice, route))
        chosen, places = _stands_at(choice, route)
    except (SoundError, SettingsError):
        return SaidPlaces(title)
    here = tuple(
        (
            place_bars_words(one, words),
            words.say(f"harmony.rating.{one.rating}"),
            place_reason(one, chosen.key, words),
        )
        for one in places
    )
    where = why = ""
    if best is not None:
        bars = place_starts_words(best.places, words)
        where = words.say("clause.link", a=form_title(best.form, words), b=bars)
        why = place_reason(best.places[0], best.key, words)
    return SaidPlaces(title, where, why, form_title(chosen.form, words), here)

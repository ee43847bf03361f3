"""The band's fields, the same wherever a band plays along: read from a form, and laid out for a page."""

from __future__ import annotations

import re
from typing import Any

from reedpath.errors import SettingsError
from reedpath.harmony import form_names, load_form
from reedpath.jobs.band_choices import AUTO, BandChoice, PlaceWish, check_band
from reedpath.sound import Turns, groove_names
from reedpath.sound.backing import MOST_SEED
from reedpath.studio.forms import SentForm, decimal_number, whole_number
from reedpath.wording import Catalogue, form_title

# bars of an introduction and times the usual looseness that are offered; others can come of a command. Ours
INTROS, LOOSENESSES = (0, 2, 4, 8, 12), (0.0, 0.5, 1.0, 1.5, 2.0)
# a bar of a form as it is typed
_BAR = re.compile(r"[1-9][0-9]?")


def _bars_of(text: str) -> tuple[int, ...]:
    """Bars as typed: "1, 5, 9" or "1 5 9"."""
    words = re.split(r"[\s,;]+", text.strip()) if text.strip() else []
    if any(not _BAR.fullmatch(word) for word in words):
        raise SettingsError("studio.no_bars", found=text[:40])
    return tuple(sorted({int(word) for word in words}))


def band_of(form: SentForm, kept: BandChoice) -> BandChoice:
    """What a form chooses of the band; what is kept, where it has no such fields.

    Raises `ReedpathError` for what no band can play.
    """
    if not form.has("band-groove"):
        return kept
    place, turns = form.get("band-place", PlaceWish.START), form.get("band-turns", kept.turns)
    if place not in tuple(PlaceWish) or turns not in tuple(Turns):
        raise SettingsError("studio.no_form")
    choice = BandChoice(
        form=form.line("band-form", AUTO) or AUTO,
        groove=form.line("band-groove", AUTO) or AUTO,
        turns=Turns(turns),
        rounds=whole_number(form.get("band-rounds") or str(kept.rounds)),
        place=PlaceWish(place),
        at_bars=_bars_of(form.line("band-bars")),
        as_turnaround=form.has("band-turnaround"),
        intro=whole_number(form.get("band-intro") or "0"),
        # the button for another take says its number itself
        seed=whole_number(form.get("band-take") or form.get("band-seed") or str(kept.seed)),
        looseness=decimal_number(form.get("band-loose") or "1"),
    )
    check_band(choice)
    return choice


def band_fields(catalogue: Catalogue, choice: BandChoice) -> dict[str, Any]:
    """What the fields offer, and what is chosen, for the macro of ``band_fields.html``."""
    grooves = [(name, catalogue.say(f"band.groove.{name}")) for name in (AUTO, *groove_names())]
    forms = [(name, form_title(load_form(name), catalogue)) for name in form_names()]
    return {
        "choice": choice,
        "grooves": grooves,
        "forms": [(AUTO, catalogue.say("band.form_auto")), *forms],
        "intros": sorted({*INTROS, choice.intro}),
        "loosenesses": sorted({*LOOSENESSES, choice.looseness}),
        "next_take": choice.seed % MOST_SEED + 1,
        "most_seed": MOST_SEED,
    }

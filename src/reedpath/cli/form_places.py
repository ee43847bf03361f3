"""Showing where a phrase sits in the forms of a blues, and its version for the IV chord."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from reedpath.cli.printing import catalogue_for, print_data, print_line, print_table
from reedpath.errors import SettingsError
from reedpath.harmony import LinePlace, NoteHeard, Rating, form_key, parse_chord
from reedpath.harp import format_move
from reedpath.jobs import (
    ReadPhrase,
    RouteRequest,
    asked_places,
    for_the_four,
    pieces_without_band,
    places_in_forms,
    proposal_beside,
    write_phrase,
)
from reedpath.phrase import metres_of
from reedpath.wording import (
    Catalogue,
    capital,
    chords_words,
    error_words,
    form_rows,
    form_title,
    harp_words,
    key_words,
    load_catalogue,
    place_bars_words,
    place_reason,
    place_starts_words,
)

if TYPE_CHECKING:
    from reedpath.arrange import Route
    from reedpath.harmony import Form, FormPlace
    from reedpath.jobs import ForTheFour, PlacesInForm, ProposedPlaces
    from reedpath.lesson import Lesson, LessonOfPieces, Taught
    from reedpath.pitch import Key
    from reedpath.sound import Backing

# lines that are printed of a form: six half lines of twelve bars, and the turnaround
MOST_LINES = 7
# metres that the band plays (`sound.choosing`)
OF_THE_BAND = {(4, 4), (2, 2), (12, 8)}


def _note_as_data(note: NoteHeard | None) -> dict[str, Any] | None:
    if note is None:
        return None
    return {
        "event": note.event,
        "midi": note.midi,
        "bar": note.bar,
        "beats": str(note.beats),
        "chord": note.chord.numeral,
        "kind": note.over.kind.value,
        "degree": note.over.degree,
    }


def place_as_data(place: FormPlace, key: Key) -> dict[str, Any]:
    """A phrase at a place of a form as data."""
    return {
        "bar": place.bar,
        "last_bar": place.last_bar,
        "chords": [chord.numeral for chord in place.chords],
        "rating": place.rating.value,
        "per_cent": round(float(place.total), 4),
        "notes_per_cent": round(float(place.notes_share), 4),
        "rest_per_cent": round(float(place.rest_share), 4),
        "line": place.line.value,
        "turnaround": place.is_turnaround,
        "pickup_bar": place.pickup_bar,
        "rest": _note_as_data(place.rest),
        "telling": _note_as_data(place.telling),
        "rubbing": _note_as_data(place.rubbing),
        "reason": place_reason(place, key, load_catalogue("en")),
    }


def _form_as_data(found: PlacesInForm, key: Key) -> dict[str, Any]:
    form, own = found.form, form_key(found.form, key)
    bars = [[chord.numeral for chord in form.chords_of_bar(bar, own)] for bar in range(len(form.bars))]
    return {"form": form.name, "bars": bars, "places": [place_as_data(one, key) for one in found.places]}


def _route_as_data(route: Route) -> dict[str, Any]:
    return {"effort": round(route.effort.total, 4), "truth": round(route.truth, 4)}


def _four_as_data(four: ForTheFour, key: Key) -> dict[str, Any]:
    own = four.own
    data: dict[str, Any] = {"state": four.state.value, "harp": None if own is None else own.harp.name}
    data |= {"as_it_is": place_as_data(four.as_it_is, key), "phrase": None if own is None else _route_as_data(own)}
    version: dict[str, Any] | None = None
    if four.version is not None and four.route is not None and four.place is not None:
        version = {"how": four.version.value, **_route_as_data(four.route), **place_as_data(four.place, key)}
        version["in_part"] = four.is_in_part
        version["others"] = [
            {"how": one.version.value, "effort": round(one.effort, 4), "truth": round(one.truth, 4)}
            for one in four.others
        ]
    return data | {"version": version}


def _lines(places: Sequence[FormPlace]) -> list[FormPlace]:
    """The places worth a line: the best, and those at the beginning and in the middle of the form's lines."""
    worth = [
        one for place, one in enumerate(places)
        if place == 0 or one.is_turnaround or one.line in (LinePlace.START, LinePlace.HALF)
    ]  # fmt: skip
    return worth[:MOST_LINES]


def _print_form(form: Form, places: Sequence[FormPlace], key: Key, catalogue: Catalogue) -> None:
    rows = form_rows(form, form_key(form, key))
    print_line(catalogue.say("harmony.form", form=form_title(form, catalogue), chords=rows))
    print_table([
        [
            f"  {place_bars_words(one, catalogue)}",
            catalogue.say(f"harmony.rating.{one.rating}"),
            chords_words(one.chords, catalogue),
            place_reason(one, key, catalogue),
        ]
        for one in _lines(places)
    ])  # fmt: skip
    print_line()


def _print_four(four: ForTheFour, key: Key, catalogue: Catalogue, *, notation: str) -> None:
    chord = parse_chord("IV*", key).printed
    if four.own is None or four.version is None or four.route is None:
        print_line(catalogue.say(f"harmony.four.{four.state}", chord=chord))
        return
    how = catalogue.say(f"harmony.four.{four.version}")
    name = "harmony.four.title_in_part" if four.is_in_part else "harmony.four.title"
    print_line(catalogue.say(name, how=how, chord=chord))
    print_line(catalogue.say("harmony.four.why", reason=place_reason(four.as_it_is, key, catalogue, tells_rubs=True)))
    after, before = (catalogue.number(one.effort.total, decimals=1) for one in (four.route, four.own))
    truth = catalogue.number(four.route.truth, decimals=2)
    harp = harp_words(four.own.harp, catalogue)
    print_line(catalogue.say("harmony.four.cost", harp=harp, after=after, before=before, truth=truth))
    moves = ("–" if e.choice.move is None else format_move(e.choice.move, notation) for e in four.route.events)
    print_line(f"  {' '.join(moves)}")
    for one in four.others:
        effort, truth = catalogue.number(one.effort, decimals=1), catalogue.number(one.truth, decimals=2)
        how = catalogue.say(f"harmony.four.{one.version}")
        print_line(catalogue.sentence(catalogue.say("harmony.four.or_else", how=how, effort=effort, truth=truth)))


def _keep(four: ForTheFour, out: Path, *, replace: bool) -> None:
    if four.route is None:
        raise SettingsError("jobs.no_version_for_the_four")
    write_phrase(four.route.phrase, out, replace=replace)


def show_places(
    read: ReadPhrase, request: RouteRequest, *, form: str | None, out: Path | None, replace: bool, notation: str,
    language: str | None, json: bool,
) -> None:  # fmt: skip
    """Print where a phrase sits in the forms of a blues, or the same as data; keep its version for the IV chord."""
    found = places_in_forms(read.phrase, form=form or "")
    four = for_the_four(read, request)
    key = read.phrase.key
    assert key is not None, "places are found in a key"
    if out is not None:
        _keep(four, out, replace=replace)
    if json:
        data: dict[str, Any] = {"title": read.phrase.title, "key": {"tonic": key.tonic, "mode": key.mode}}
        data |= {"forms": [_form_as_data(one, key) for one in found], "for_the_four": _four_as_data(four, key)}
        print_data(data | ({"file": str(out)} if out is not None else {}))
        return
    catalogue = catalogue_for(language)
    title, name = read.phrase.title, key_words(key, catalogue)
    if title:
        print_line(catalogue.say("harmony.title", title=title, key=name))
    else:
        print_line(catalogue.say("harmony.untitled", key=name))
    if found[0].places[0].pickup_bar is not None:
        print_line(catalogue.say("harmony.pickup"))
    if any((one.count, one.unit) not in OF_THE_BAND for one in metres_of(read.phrase)):
        print_line(catalogue.say("harmony.metre"))
    print_line()
    for one in found:
        _print_form(one.form, one.places, key, catalogue)
    _print_four(four, key, catalogue, notation=notation)
    if out is not None:
        print_line(str(out))
    elif four.route is not None:
        print_line(catalogue.say("harmony.four.keep"))


def _proposed_options(proposed: ProposedPlaces) -> str:
    return f"--form {proposed.form.name} --at-bar {','.join(str(one.bar) for one in proposed.places)}"


def _asked_lines(asked: ProposedPlaces, catalogue: Catalogue) -> Iterator[str]:
    """How a phrase sits at the bars that were asked for, and why where it does not sit well."""
    form = form_title(asked.form, catalogue)
    for one in asked.places:
        bars, rating = place_bars_words(one, catalogue), catalogue.say(f"harmony.rating.{one.rating}")
        told = capital(catalogue.say("harmony.placed", form=form, bars=bars, rating=rating))
        why = "" if one.rating is Rating.GOOD else place_reason(one, asked.key, catalogue)
        yield f"{told} {why}".rstrip()


def proposal_as_data(lesson: Lesson, backing: Backing) -> dict[str, Any] | None:
    """Where a lesson's phrase would be played best under a band, and how it sits where it was asked for, as data.

    None where nothing was asked and it stands well.
    """
    proposed, asked = proposal_beside(lesson, backing), asked_places(lesson, backing)
    data: dict[str, Any] = {}
    if proposed is not None:
        places = [place_as_data(one, proposed.key) for one in proposed.places]
        data |= {"form": proposed.form.name, "places": places, "options": _proposed_options(proposed)}
    if asked is not None:
        places = [place_as_data(one, asked.key) for one in asked.places]
        data |= {"asked": {"form": asked.form.name, "places": places}}
    return data or None


def proposal_lines(lesson: Lesson, backing: Backing, catalogue: Catalogue) -> list[str]:
    """The same as lines."""
    proposed, asked = proposal_beside(lesson, backing), asked_places(lesson, backing)
    lines = [] if asked is None else [*_asked_lines(asked, catalogue)]
    if proposed is None:
        return lines
    key = proposed.key
    bars = place_starts_words(proposed.places, catalogue)
    told = catalogue.say(
        "harmony.best",
        form=form_title(proposed.form, catalogue),
        bars=bars,
        options=_proposed_options(proposed),
        reason=place_reason(proposed.places[0], key, catalogue),
    )
    return [*lines, told]


def proposal_of_pieces_lines(lesson: LessonOfPieces, backing: Backing, catalogue: Catalogue) -> list[str]:
    """Lines for each piece of a lesson that no band can play, and for each that would sit better elsewhere, with the
    folder that it is made in.
    """
    without = pieces_without_band(lesson, backing)
    told = [
        catalogue.say("harmony.no_band", piece=folder, reason=error_words(error, catalogue))
        for folder, error in without.items()
    ]
    for piece in lesson.pieces:
        if piece.folder in without:
            continue
        for line in proposal_lines(piece.lesson, backing, catalogue):
            told.append(catalogue.say("harmony.best_of_piece", piece=piece.folder, line=line))
    return told


def every_proposal_as_data(taught: Taught, backing: Backing) -> dict[str, Any]:
    """What is told beside the sounds of a lesson or of one of several pieces; nothing where all stand well."""
    from reedpath.lesson import Lesson

    if isinstance(taught, Lesson):
        proposed = proposal_as_data(taught, backing)
        return {} if proposed is None else {"proposed": proposed}
    without = {folder: str(error) for folder, error in pieces_without_band(taught, backing).items()}
    found = {one.folder: proposal_as_data(one.lesson, backing) for one in taught.pieces if one.folder not in without}
    pieces = {folder: proposed for folder, proposed in found.items() if proposed is not None}
    told = {"proposed_of_pieces": pieces, "without_band": without}
    return {name: one for name, one in told.items() if one}


def every_proposal_lines(taught: Taught, backing: Backing, catalogue: Catalogue) -> list[str]:
    """The same as lines."""
    from reedpath.lesson import Lesson

    if isinstance(taught, Lesson):
        return proposal_lines(taught, backing, catalogue)
    return proposal_of_pieces_lines(taught, backing, catalogue)

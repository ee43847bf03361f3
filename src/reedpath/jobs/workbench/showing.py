"""Showing: a draft as it stands, as one message: notes, ribbon, tab and staff of the same route."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from reedpath.arrange import Change, OtherWay, Route, RouteEvent, load_player
from reedpath.errors import Place, ReedpathError
from reedpath.harp import format_move
from reedpath.jobs.band_choices import BandChoice, proposal_known, said_places
from reedpath.jobs.workbench.bringing import word_at
from reedpath.jobs.workbench.draft import NOTATION, Draft
from reedpath.jobs.workbench.messages import (
    ChoiceShown,
    FactsShown,
    NoteShown,
    PartShown,
    ProblemShown,
    RibbonShown,
    WayShown,
)
from reedpath.jobs.workbench.prices import allowed_techniques, comfortable_bpm
from reedpath.jobs.workbench.settling import SettledDraft
from reedpath.lesson import parts_of
from reedpath.page import DrawnRibbon, change_words, encode_musicxml, engrave_score, event_words
from reedpath.phrase import NumberedBars, Phrase, PrintedBar, numbered_bars, timing_of
from reedpath.wording import (
    Catalogue,
    bars_words,
    error_hint,
    error_words,
    form_title,
    harp_words,
    key_words,
    move_words,
    place_reason,
    place_starts_words,
    position_words,
    shift_words,
)

_STYLE = re.compile(r"<style\b.*?</style>", re.DOTALL)
# decimals of points, shares and beats that are shown
DECIMALS = 3


def problem_shown(error: ReedpathError, words: Catalogue, *, text: str = "", of: str) -> ProblemShown:
    """What is wrong, in words, and where in a typed text: from the column to the end of the word there."""
    line, column, length = error.where.line, error.where.column, 1
    if text and line is not None:
        column, length = word_at(text, line, column)
    marked = text and not set(dict(error.where.known)) - {"line", "column"}
    told = type(error).like(error)
    told.where = Place() if marked else error.where
    says = words.sentence(error_words(told, words))
    return ProblemShown(of, says, error_hint(error, words) or "", line, column, length)


def choice_shown(draft: Draft) -> ChoiceShown:
    """What is chosen in a draft."""
    return ChoiceShown(
        harp=draft.harp.key or "",
        tuning=draft.harp.tunings[0],
        owned_only=draft.owned_only,
        position=draft.position,
        shift_semitones=draft.shift_semitones,
        any_key=draft.any_key,
        level=load_player(draft.player.level).level,
        key=draft.key,
        bpm=draft.bpm,
        notation=draft.notation,
        title=draft.title,
        allowed=allowed_techniques(draft.player),
    )


def _sits(phrase: Phrase, words: Catalogue) -> tuple[str, str]:
    """Where in the forms of a blues a phrase sits best, and why; empty for a phrase that sits well in none."""
    proposed = None if phrase.key is None else proposal_known(phrase)
    if proposed is None:
        return "", ""
    bars = place_starts_words(proposed.places, words)
    where = words.say("clause.link", a=form_title(proposed.form, words), b=bars)
    return where, place_reason(proposed.places[0], proposed.key, words)


def facts_shown(now: SettledDraft, words: Catalogue, before: float | None, band: BandChoice) -> FactsShown:
    """What the route is and costs; ``before`` is the effort before the command, where it can be compared."""
    route, harp = now.route, now.settled.harp
    sits, why = _sits(route.phrase, words)
    standard = harp.tuning.name == "standard"
    return FactsShown(
        harp=words.sentence(harp_words(harp, words, with_tuning=not standard)).rstrip("."),
        position="" if route.position is None else position_words(route.position, words),
        key=key_words(route.phrase.key, words),
        shift=shift_words(route.shift_semitones, words),
        harp_key=harp.name,
        tuning=harp.tuning.name,
        position_number=route.position,
        shift_semitones=route.shift_semitones,
        proposed=now.proposed,
        effort=round(route.effort.total, DECIMALS),
        truth=round(route.truth, DECIMALS),
        comfortable_bpm=comfortable_bpm(route),
        bpm=round(timing_of(route.phrase).tempos[0].bpm, 1),
        spots=len(route.spots),
        effort_before=None if before is None else round(before, DECIMALS),
        sits=sits,
        sits_why=why,
        places=said_places(band, route, words),
    )


class _HeldMoves(Struct, frozen=True):
    """What is said of events: who holds them, and what is avoided."""

    held: Mapping[int, str]
    avoids: Mapping[int, tuple[str, ...]]


def _held(draft: Draft, now: SettledDraft) -> _HeldMoves:
    said = {pin.event: "pin" for pin in draft.pins if not pin.avoid}
    typed = {pin.event: "typed" for pin in now.settled.pins if not pin.avoid and pin.event not in said}
    avoids: dict[int, tuple[str, ...]] = {}
    for pin in draft.pins:
        if pin.avoid:
            avoids[pin.event] = (*avoids.get(pin.event, ()), pin.move)
    return _HeldMoves({**typed, **said}, avoids)


def _differs(changes: Sequence[Change], bar: PrintedBar, words: Catalogue, spelt: Sequence[int]) -> str:
    """What is not as given, a sentence for each."""
    place = bars_words([bar], words) if changes else ""
    return " ".join(words.sentence(change_words(change, place, words, spelt=spelt)) for change in changes)


class ShownNotes(Struct, frozen=True):
    """The events of a route as they were shown: what they tell is made again only where they changed.

    numbered : the bars of its phrase.
    """

    phrase: Phrase
    notation: str
    numbered: NumberedBars
    events: tuple[RouteEvent, ...]
    notes: tuple[NoteShown, ...]

    def at(self, index: int, one: RouteEvent) -> NoteShown | None:
        """What is known of an event: None where it is played otherwise than it was."""
        was = self.events[index]
        same = (one.choice, one.breathe_before, one.event) == (was.choice, was.breathe_before, was.event)
        return self.notes[index] if same else None


def notes_shown(
    draft: Draft, now: SettledDraft, words: Catalogue, changed: frozenset[int], *, before: ShownNotes | None = None
) -> ShownNotes:
    """The events as they are played; ``before``: as they were, in the same words."""
    route, held, heard = now.route, _held(draft, now), draft.recording
    if before is not None and (before.phrase is not now.phrase or before.notation != draft.notation):
        before = None
    numbered = numbered_bars(now.phrase) if before is None else before.numbered
    shown = []
    for index, one in enumerate(route.events):
        seconds = one.event.place.seconds
        note = None if before is None else before.at(index, one)
        shown.append(
            replace(
                _note_shown(route, index, draft.notation, words, numbered.at(one.event.onset))
                if note is None
                else note,
                points=round(one.effort.total, DECIMALS),
                seconds=None if heard is None or seconds is None else round(heard.start_seconds + seconds, DECIMALS),
                held=held.held.get(index, ""),
                avoids=held.avoids.get(index, ()),
                changed=index in changed,
            )
        )
    return ShownNotes(now.phrase, draft.notation, numbered, route.events, tuple(shown))


def _note_shown(route: Route, index: int, notation: str, words: Catalogue, bar: PrintedBar) -> NoteShown:
    """An event as it is played, by itself."""
    one = route.events[index]
    move = one.choice.move
    return NoteShown(
        bar=bar.mark or str(bar.number),
        tab="" if move is None else format_move(move, notation),
        move="" if move is None else format_move(move, NOTATION),
        words=event_words(one, words, bar),
        onset=round(float(one.event.onset), DECIMALS),
        end=round(float(one.event.end), DECIMALS),
        midi=one.event.midi,
        points=0.0,
        doubtful=one.event.doubtful,
        differs=_differs(one.choice.changes, bar, words, route.fifths(index) if one.choice.changes else ()),
    )


def parts_shown(route: Route) -> tuple[PartShown, ...]:
    """The parts in which the phrase would be taught."""
    return tuple(PartShown(one.label, one.first, one.last, not one.found) for one in parts_of(route))


def ribbon_shown(drawn: DrawnRibbon, before: DrawnRibbon | None) -> RibbonShown | None:
    """The systems that another ribbon does not have in the same place; None where there is no difference."""
    there = () if before is None else before.systems
    changed = tuple(
        (index, one.svg)
        for index, one in enumerate(drawn.systems)
        if index >= len(there) or (there[index] is not one and there[index].svg != one.svg)
    )
    return RibbonShown(len(drawn.systems), changed) if changed or len(there) != len(drawn.systems) else None


def staff_of(route: Route, notation: str, words: Catalogue) -> str:
    """The staff as SVG; notes are groups ``eN``. A page styles and names it: it does not itself."""
    score = encode_musicxml(route, notation=notation, catalogue=words)
    svg = _STYLE.sub("", engrave_score(score, has_heading=False))
    return svg.replace(' role="img"', ' aria-hidden="true"', 1).replace("<title></title>", "", 1)


def ways_shown(
    ways: Sequence[OtherWay], route: Route, event: int, draft: Draft, words: Catalogue
) -> tuple[WayShown, ...]:
    """The other ways of an event."""
    bar = numbered_bars(route.phrase).at(route.events[event].event.onset)
    spelt = route.fifths(event, (midi for one in ways for change in one.changes for midi in change.given_midi))
    return tuple(
        WayShown(
            move=format_move(one.move, NOTATION),
            tab=format_move(one.move, draft.notation),
            words=move_words(one.move, words),
            adds=round(one.adds, DECIMALS),
            differs=_differs(one.changes, bar, words, spelt),
            beyond_level=one.beyond_level,
        )
        for one in ways
    )

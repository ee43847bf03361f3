"""What the hand-out tells in rows: the steps of each part with their tab beside them, changes, spots, tempos."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from msgspec.structs import replace

from reedpath.arrange import OF_ORNAMENTS, Change, ChangeKind
from reedpath.lesson import Lesson, Rung, StepBlock, StepGroup, StepKind, steps_of
from reedpath.page.score.sheet import Sheet
from reedpath.page.score.tab_signs import event_token
from reedpath.phrase import metre_at
from reedpath.wording import Catalogue, named_words, shift_words, tempo_words

# kinds of steps that have a table of their own instead
IN_TABLES = (StepKind.SPOT, StepKind.LADDER)


def place_of(sheet: Sheet, first: int, last: int, catalogue: Catalogue) -> str:
    """The bars from one event to another, in words."""
    from reedpath.wording import bars_words  # who asks only for tempos names no bar

    events = sheet.route.events
    found = sheet.bars_between(events[first].event.onset, events[last].event.onset)
    return bars_words([bar.printed for bar in found], catalogue)


# ----------------------------------------------------------------------------------------------------- steps


def _tab_of(sheet: Sheet, group: StepGroup) -> str:
    """The tab of the events that a row says how to play, where they are all alike."""
    events = sheet.route.events
    tokens = {event_token(events[index], notation=sheet.notation) for index in group.moves}
    return tokens.pop() if len(tokens) == 1 else ""


def _block(sheet: Sheet, lesson: Lesson, block: StepBlock, catalogue: Catalogue) -> dict[str, Any]:
    parts = [lesson.parts[index] for index in block.parts]
    # what is played from the start says so, and its bars would be those of every repeat
    placed = bool(parts) and not block.is_through
    place = place_of(sheet, parts[0].first, parts[-1].last, catalogue) if placed else ""
    rows = [{"tab": _tab_of(sheet, group), "text": group.text} for group in block.groups if group.text]
    return {"title": block.title, "place": place, "rows": rows}


def step_blocks(sheet: Sheet, lesson: Lesson, catalogue: Catalogue) -> list[dict[str, Any]]:
    """The blocks of steps, without those that tables tell."""
    return [_block(sheet, lesson, block, catalogue) for block in beside_tables(lesson, catalogue)]


def beside_tables(lesson: Lesson, catalogue: Catalogue) -> list[StepBlock]:
    """The blocks of steps without those that tables tell, of which only a person's notes are left."""
    found = []
    for block in steps_of(lesson, catalogue):
        notes = tuple(step for step in block.steps if step.kind is StepKind.NOTE and step.text)
        if not is_in_table(block):
            found.append(block)
        elif notes:
            found.append(replace(block, steps=notes))
    return found


def is_in_table(block: StepBlock) -> bool:
    """Whether a block is only spots and tempos, which have tables of their own."""
    kinds = [step.kind for step in block.steps if step.kind is not StepKind.NOTE]
    return bool(kinds) and all(kind in IN_TABLES for kind in kinds)


# --------------------------------------------------------------------------------------------------- changes


def change_words(change: Change, place: str, catalogue: Catalogue, *, spelt: Sequence[int]) -> str:
    """What a route does otherwise than the phrase, after the place where it does; no sentence yet.

    spelt : how its notes are written (`Route.fifths`).
    """
    asked, given = (
        catalogue.join([catalogue.note_with_octave(one, spelt=spelt) for one in midi])
        for midi in (change.asked_midi, change.given_midi)
    )
    values = {"place": place, "asked": asked, "given": given}
    unsaid = "given" if change.kind is ChangeKind.SILENT else "asked" if change.kind in OF_ORNAMENTS else None
    told: dict[str, str | float] = {name: value for name, value in values.items() if name != unsaid}
    if change.kind is ChangeKind.OCTAVE and asked == given:  # the language tells no octaves with its notes
        shift = shift_words(change.given_midi[0] - change.asked_midi[0], catalogue)
        count = len(change.asked_midi)
        return catalogue.say("change_line.octave_moved", place=place, asked=asked, shift=shift, count=count)
    if change.kind not in (ChangeKind.MISSING, ChangeKind.ADDED):
        # the number of notes that the verb agrees with
        agrees = change.asked_midi if change.kind in (ChangeKind.OCTAVE, ChangeKind.SILENT) else change.given_midi
        told["count"] = len(agrees)
    return catalogue.say(f"change_line.{change.kind}", variant=0, **told)


def change_rows(sheet: Sheet, catalogue: Catalogue) -> list[str]:
    """What differs from the phrase as given, each difference once for its bar."""
    route = sheet.route
    lines = [
        change_words(change, place_of(sheet, index, index, catalogue), catalogue, spelt=route.fifths(index))
        for index, change in route.changes
    ]
    return [catalogue.sentence(line) for line in dict.fromkeys(lines)]


# -------------------------------------------------------------------------------------------------- practice


def rung_tempo(sheet: Sheet, rung: Rung, onset: Fraction, catalogue: Catalogue) -> str:
    """A rung's tempo as a metronome is set: in counted beats where they have a sign, else in quarters."""
    return tempo_words(rung.bpm, metre_at(sheet.route.phrase, onset), catalogue)


def rung_name(rung: Rung, catalogue: Catalogue) -> str:
    """What a tempo of the ladder is called, as a heading."""
    return catalogue.sentence(named_words("rung", rung.name, catalogue)).rstrip(".")


def ladder_rows(sheet: Sheet, lesson: Lesson, catalogue: Catalogue) -> list[dict[str, str]]:
    """The rungs of the ladder: name, tempo, share of the full tempo."""
    return [
        {
            "name": rung_name(rung, catalogue),
            "tempo": rung_tempo(sheet, rung, Fraction(0), catalogue),
            "share": catalogue.say("tempo.share", percent=round(rung.factor * 100)),
        }
        for rung in lesson.ladder
    ]


def _spot_tab(sheet: Sheet, first: int, last: int) -> str:
    inside = sheet.route.events[first : last + 1]
    return "   ".join(event_token(one, notation=sheet.notation) for one in inside)


def spot_rows(sheet: Sheet, lesson: Lesson, catalogue: Catalogue) -> list[dict[str, Any]]:
    """The spots to practise apart: where, which tab, why, how, and a box for each time at each tempo."""
    told = [step for block in steps_of(lesson, catalogue) for step in block.steps if step.kind is StepKind.SPOT]
    rows = []
    for number, drill in enumerate(lesson.drills, start=1):
        spot = drill.spot
        texts = [step.text for step in told if step.text and (step.first, step.last) == (spot.first, spot.last)]
        onset = sheet.route.events[spot.first].event.onset
        rows.append(
            {
                "title": catalogue.say("spot.number", number=number),
                "place": place_of(sheet, spot.first, spot.last, catalogue),
                "tab": _spot_tab(sheet, spot.first, spot.last),
                "text": " ".join(dict.fromkeys(texts)),
                "times": drill.times,
                "tempos": [rung_tempo(sheet, rung, onset, catalogue) for rung in drill.ladder],
            }
        )
    return rows

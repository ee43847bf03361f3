"""Words: what the page's script says, in each language, as data."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from msgspec.structs import replace

from reedpath.lesson import Lesson, Rung, in_language, part_groups
from reedpath.page.handout.rows import place_of, rung_name, rung_tempo
from reedpath.page.ribbon.svg import event_labels
from reedpath.page.score.sheet import Sheet
from reedpath.page.web.symbols import MoveSymbols
from reedpath.wording import Catalogue

# tables of the catalogues that hold what the page says, and what its sections are called
PREFIX = "web."
TITLES = ("steps", "spots", "changes", "legend", "tab", "chart", "cautions")
# what `words_of` says that is the same for every lesson
COMMON_WORDS = ("say", "titles", "percents", "goes_on")
# shares of its own speed that a sound can be slowed to; below, browsers' stretching is heard
RATES = (1.0, 0.95, 0.9, 0.85, 0.8, 0.75, 0.7, 0.65, 0.6, 0.55, 0.5, 0.45, 0.4)
# the same as percents by which the sound is slower: what the slider counts in, evenly
SLOWER = tuple(round(100 * (1 - rate)) for rate in RATES)


@dataclass(frozen=True, slots=True)
class Passage:
    """Some events in a row.

    kind : "whole", "part", "group" (of parts) or "spot".
    number : of the part, group or spot in the lesson, from 0.
    first, last : indexes of events, inclusive.
    """

    kind: str
    number: int
    first: int
    last: int

    def name(self, lesson: Lesson, catalogue: Catalogue) -> str:
        """What it is called."""
        if self.kind == "whole":
            return catalogue.say("web.whole")
        if self.kind == "spot":
            return catalogue.say("spot.number", number=self.number + 1)
        if self.kind == "group":
            return part_groups(lesson)[self.number].name(lesson, catalogue)
        return in_language(lesson, catalogue.name).parts[self.number].label

    def place(self, sheet: Sheet, catalogue: Catalogue) -> str:
        """The bars it stands in."""
        return place_of(sheet, self.first, self.last, catalogue)


def stretches_of(lesson: Lesson) -> tuple[Passage, ...]:
    """The stretches of a lesson: all of it, its parts where it has several, its spots.

    Of many parts first their groups, and last those of them that make more than one part.
    """
    events = lesson.route.events
    if not events:
        return ()
    whole = Passage("whole", 0, 0, len(events) - 1)
    parts = [Passage("part", index, part.first, part.last) for index, part in enumerate(lesson.parts)]
    spots = [Passage("spot", index, one.spot.first, one.spot.last) for index, one in enumerate(lesson.drills)]
    if not (found := part_groups(lesson)):
        return (whole, *(parts if len(parts) > 1 else ()), *spots)
    groups = [
        Passage("group", index, lesson.parts[one.first].first, lesson.parts[one.last].last)
        for index, one in enumerate(found)
    ]
    folded = [parts[number] for one in found if one.last > one.first for number in range(one.first, one.last + 1)]
    return (whole, *groups, *spots, *folded)


def say_open(words: Catalogue, key: str) -> str:
    """A message with its gaps left open, as ``{name}``."""
    gaps: dict[str, str | float] = {gap: f"{{{gap}}}" for gap in words.messages[key].gaps}
    return words.say(key, variant=0, **gaps)


def _stretch(stretch: Passage, sheet: Sheet, lesson: Lesson, words: Catalogue) -> dict[str, str]:
    return {"name": stretch.name(lesson, words), "place": stretch.place(sheet, words)}


def _rung(rung: Rung, sheet: Sheet, words: Catalogue) -> dict[str, Any]:
    tempos = [rung_tempo(sheet, replace(rung, bpm=rung.bpm * rate), Fraction(0), words) for rate in RATES]
    return {"name": rung_name(rung, words), "tempos": tempos}


def words_of(
    sheet: Sheet,
    lesson: Lesson,
    words: Catalogue,
    *,
    signs: MoveSymbols,
    stretches: Sequence[Passage],
    rungs: Sequence[Rung],
) -> dict[str, Any]:
    """All that the page says in one language but what is read alone.

    say : messages by their names, gaps open. titles : of sections.
    events, signs, moves : each event, each sign with its course, and its move alone, in words.
    rungs : name of each rung, and its tempo at each of `RATES`. percents : of `RATES`.
    stretches : name and bars of each.
    """
    return {
        "say": {key.removeprefix(PREFIX): say_open(words, key) for key in words.messages if key.startswith(PREFIX)},
        "titles": {name: words.say(f"sheet.{name}") for name in TITLES},
        "percents": [words.say("tempo.share", percent=round(100 * rate)) for rate in RATES],
        "goes_on": words.say("ribbon.goes_on"),
        "events": event_labels(lesson.route, words),
        "signs": [words.sentence(one).rstrip(".") for one in signs.words(words)],
        "moves": [words.sentence(one).rstrip(".") for one in signs.moves(words)],
        "rungs": [_rung(rung, sheet, words) for rung in rungs],
        "stretches": [_stretch(one, sheet, lesson, words) for one in stretches],
    }

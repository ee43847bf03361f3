"""The contents of a lesson page: the lesson, its pictures and its words, worked out once for all its sections."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from reedpath.arrange import Route
from reedpath.errors import PageError
from reedpath.lesson import Lesson, taught_route
from reedpath.page.ribbon.grid import parts_in_beats
from reedpath.page.score.elements import clean_text
from reedpath.page.score.sheet import Sheet, sheet_of
from reedpath.page.web.heard_places import heard_places
from reedpath.page.web.markup import said_at
from reedpath.page.web.ribbons import StripPicture, strip_picture
from reedpath.page.web.sounds import PageSound, check_sounds, sound_times
from reedpath.page.web.symbols import MoveSymbols, signs_of_route
from reedpath.page.web.words import RATES, SLOWER, Passage, stretches_of, words_of
from reedpath.wording import Catalogue, harp_words


@dataclass(frozen=True, slots=True)
class Contents:
    """All that the sections of a page are made from.

    lesson, sheet : what is taught.
    catalogues : the languages; the first is seen at first.
    sounds : one for each tempo.
    signs, strip, stretches : its moves, its ribbon, what can be played apart.
    words : of each language by its name (see `words_of`).
    """

    lesson: Lesson
    sheet: Sheet
    catalogues: tuple[Catalogue, ...]
    sounds: tuple[PageSound, ...]
    signs: MoveSymbols
    strip: StripPicture
    stretches: tuple[Passage, ...]
    words: Mapping[str, Mapping[str, Any]]

    @property
    def route(self) -> Route:
        """The route as the page's ribbon shows it: its spots are those to practise, under their numbers."""
        return taught_route(self.lesson)

    @property
    def title(self) -> str:
        """The lesson's title, or its harp where it has none."""
        return clean_text(self.lesson.title) or harp_words(self.lesson.route.harp, self.catalogues[0])

    @property
    def is_played(self) -> bool:
        """Whether there is anything to play and a sound to play it with."""
        return bool(self.sounds and self.stretches)

    def said(self, path: str) -> str:
        """Words in the first language, by their path ("say.play", "rungs.0.name")."""
        return said_at(self.words[self.catalogues[0].name], path)

    def script_data(self) -> dict[str, Any]:
        """What the page's script is told."""
        return {
            "title": self.title,
            "heard": heard_places(self.lesson.route, self.strip, self.signs),
            "signs": list(self.signs.of_events),
            "row_px": self.strip.row_px,
            "lead": self.strip.lead_rows,
            "places": [round(left, 3) for left, _ in self.strip.places],
            "ends": [round(right, 3) for _, right in self.strip.places],
            "stretches": [[one.first, one.last] for one in self.stretches],
            "rates": list(RATES),
            "slower": list(SLOWER),
            "sounds": [sound_times(one, self.lesson.route, self.strip.places) for one in self.sounds],
            "words": self.words,
        }


def contents_of(lesson: Lesson, *, sounds: Sequence[PageSound], catalogues: Sequence[Catalogue]) -> Contents:
    """The contents of the page of a lesson."""
    if not catalogues:
        raise PageError("page.no_language")
    check_sounds(sounds, lesson.route)
    sheet = sheet_of(lesson)
    signs = signs_of_route(lesson.route, notation=lesson.notation)
    stretches = stretches_of(lesson)
    rungs = [sound.rung for sound in sounds]
    words = {
        one.name: words_of(sheet, lesson, one, signs=signs, stretches=stretches, rungs=rungs) for one in catalogues
    }
    strip = strip_picture(
        taught_route(lesson),
        notation=lesson.notation,
        parts=parts_in_beats(lesson, catalogues[0].name),
        words=words[catalogues[0].name]["events"],
        signs=signs,
    )
    return Contents(lesson, sheet, tuple(catalogues), tuple(sounds), signs, strip, stretches, words)

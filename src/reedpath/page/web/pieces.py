"""The page of a lesson of several pieces: each with what a lesson page has, a list to go from one to another.

With the script one piece is seen at a time, and one of its levels; without it, and in print, all are, in order.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from reedpath.lesson import LessonOfPieces, PlayedPiece, by_line, play_through_rounds, played_alike
from reedpath.page.handout.contents import title_words
from reedpath.page.handout.piece_groups import (
    PieceGroup,
    SaidOfPieces,
    groups_of_pieces,
    said_of_pieces,
    version_names,
)
from reedpath.page.handout.rows import rung_name, rung_tempo
from reedpath.page.score.sheet import sheet_of
from reedpath.page.web.contents import Contents, contents_of
from reedpath.page.web.document import PageFrame, by_section, format_frame, strip_style
from reedpath.page.web.markup import choice, element, said_at, spoken, text
from reedpath.page.web.sections import facts_section, in_each_language, lesson_sections
from reedpath.page.web.sounds import PageSound
from reedpath.page.web.words import COMMON_WORDS, RATES
from reedpath.wording import Catalogue, capital, full_harp_words

# attributes whose values are names in the document, or lead to one
_TAG = re.compile(r"<[a-z][^<>]*>")
_NAMED = re.compile(r'( (?:id|for|name|aria-labelledby)="| href="#(?!icon-))')
# the name of the last play-through in the document; it begins as those of the pieces do
ENDING = "piece-all"


def named_apart(html: str, prefix: str) -> str:
    """A lesson's HTML with all its names begun by a prefix, so that several lessons stand in one document."""
    return _TAG.sub(lambda tag: _NAMED.sub(rf"\g<1>{prefix}", tag[0]), html)


@dataclass(frozen=True, slots=True)
class _Pages:
    """What the page is made from.

    lesson : of the pieces.
    groups : its pieces with their levels.
    contents : of each piece's lesson, in the lesson's order.
    said : of the whole, by the names of the languages.
    words : what the page says beside its lessons, likewise.
    catalogues : the languages; the first is seen at first.
    """

    lesson: LessonOfPieces
    groups: tuple[PieceGroup, ...]
    contents: tuple[Contents, ...]
    said: Mapping[str, SaidOfPieces]
    words: Mapping[str, Mapping[str, Any]]
    catalogues: tuple[Catalogue, ...]

    @property
    def first(self) -> Contents:
        """Contents whose words the whole page has."""
        return self.contents[0]

    def says(self, path: str) -> str:
        """Words in the first language, by their path ("pieces.0.heading")."""
        return said_at(self.words[self.catalogues[0].name], path)

    def spoken(self, name: str, path: str) -> str:
        """An element with words that the script puts into other languages."""
        return spoken(name, path, self.says)


def _prefix(place: int) -> str:
    """What all names of a lesson begin with, by its place among the pieces."""
    return f"p{place + 1}-"


def _words(
    first: Contents, groups: Sequence[PieceGroup], said: Mapping[str, SaidOfPieces], catalogues: Sequence[Catalogue]
) -> dict[str, dict[str, Any]]:
    """What the page says beside its lessons, in each language."""
    return {
        words.name: {name: first.words[words.name][name] for name in COMMON_WORDS}
        | {
            "pieces": [
                {
                    "heading": heading,
                    "facts": _listed_facts(group, words),
                    "versions": list(version_names(group, words)),
                }
                for group, heading in zip(groups, said[words.name].headings, strict=True)
            ],
            "ending": said[words.name].ending,
        }
        for words in catalogues
    }


def _listed_facts(group: PieceGroup, words: Catalogue) -> str:
    """Harp and tempo of a piece: what one has to take at hand before it is begun."""
    full = [
        rung_tempo(sheet_of(one), one.ladder[-1], group.lesson.route.phrase.pickup, words) for one in group.lessons
    ]
    harps = [capital(full_harp_words(one.route.harp, words)) for one in group.lessons]
    return " · ".join([*dict.fromkeys(harps), *dict.fromkeys(full)])


def _link(pages: _Pages, name: str, path: str, extra: str = "") -> str:
    return element("li", element("a", pages.spoken("b", path) + extra, href=f"#{name}", class_="control"))


def _list(pages: _Pages) -> str:
    """The list that leads to each piece."""
    items = [
        _link(pages, group.name, f"pieces.{index}.heading", " " + pages.spoken("small", f"pieces.{index}.facts"))
        for index, group in enumerate(pages.groups)
    ]
    if pages.lesson.play_through:
        items.append(_link(pages, ENDING, "ending"))
    items_row = element("ol", "".join(items), class_="row")
    return element("nav", items_row, class_="pieces", aria_label=pages.says("say.pieces"), data_label="say.pieces")


def _told(pages: _Pages, tell: Callable[[SaidOfPieces], Sequence[str]]) -> str:
    """Sentences in each language, as a paragraph."""

    def paragraph(words: Catalogue) -> str:
        said = tell(pages.said[words.name])
        return element("p", text(" ".join(said))) if said else ""

    return in_each_language(pages.catalogues, paragraph)


def _versions(pages: _Pages, index: int) -> str:
    """The choice between the levels of a piece; empty where it has one."""
    group = pages.groups[index]
    if len(group.places) < 2:
        return ""
    buttons = "".join(
        choice(
            f"{group.name}-version",
            version,
            pages.spoken("span", f"pieces.{index}.versions.{version}"),
            is_chosen=version == 0,
        )
        for version in range(len(group.places))
    )
    content = pages.spoken("legend", "say.version") + element("div", buttons, class_="row")
    return element("fieldset", content, class_="versions needs-script")


def _lesson(pages: _Pages, index: int, version: int) -> str:
    """One level of a piece with all that a lesson page has."""
    places = pages.groups[index].places
    contents, prefix = pages.contents[places[version]], _prefix(places[version])
    sections = element("div", lesson_sections(contents, level=3), class_="sections")
    inside = contents.signs.symbols + facts_section(contents) + sections
    name = pages.spoken("b", f"pieces.{index}.versions.{version}")
    named = element("p", name, class_="version-name") if len(places) > 1 else ""
    if played_alike(pages.lesson, places[version]) is not None:
        named += in_each_language(pages.catalogues, lambda words: element("p", text(words.say("whole.now_same"))))
    return element("div", named + named_apart(inside, prefix), id=f"{prefix}lesson", class_="lesson")


def _section(pages: _Pages, name: str, path: str, content: str) -> str:
    """A piece, or the last play-through, under its heading."""
    heading = element("h2", text(pages.says(path)), id=f"{name}-heading", data_say=path)
    return element(
        "section", heading + content, id=name, class_="piece", tabindex=-1, aria_labelledby=f"{name}-heading"
    )


def _piece(pages: _Pages, index: int) -> str:
    group = pages.groups[index]
    before = _told(pages, lambda said: said.before[index])
    lessons = "\n".join(_lesson(pages, index, version) for version in range(len(group.places)))
    content = f"{before}\n{_versions(pages, index)}\n{lessons}\n{_onward(pages, index)}"
    return _section(pages, group.name, f"pieces.{index}.heading", content)


def _onward(pages: _Pages, index: int) -> str:
    """The link to the next piece, at the end of one."""
    if index + 1 < len(pages.groups):
        name, path = pages.groups[index + 1].name, f"pieces.{index + 1}.heading"
    elif pages.lesson.play_through:
        name, path = ENDING, "ending"
    else:
        return ""
    label = pages.spoken("span", "say.next_piece") + " " + pages.spoken("b", path)
    return element("p", element("a", label, href=f"#{name}", class_="control"), class_="onward needs-script")


def _tempo(pages: _Pages, one: PlayedPiece, words: Catalogue) -> str:
    lesson = pages.lesson.pieces[one.piece].lesson
    return rung_tempo(sheet_of(lesson), one.rung, lesson.route.phrase.pickup, words)


def _is_played(pages: _Pages) -> bool:
    """Whether there is a sound for every piece that is played in a row."""
    return all(pages.contents[place].is_played for place in pages.lesson.play_through)


def _row_button(number: int, name: str, words: Catalogue) -> str:
    """The button that plays a round."""
    return element(
        "button",
        '<svg class="icon" aria-hidden="true"><use href="#icon-play"/></svg>'
        + element("span", text(words.say("web.play_row", what=name)), class_="unseen"),
        type="button",
        class_="control needs-script",
        data_round=number,
    )


def _sound_for(contents: Contents, bpm: float) -> dict[str, Any]:
    """The sound of a piece, and the share that it is slowed to, that come nearest to a tempo."""
    ways = [(index, rate) for index in range(len(contents.sounds)) for rate in RATES]
    # of those equally near the one that is slowed least
    sound, rate = min(ways, key=lambda way: (abs(contents.sounds[way[0]].rung.bpm * way[1] / bpm - 1), -way[1]))
    return {"sound": sound, "rate": rate}


def _played_rounds(pages: _Pages) -> list[list[dict[str, Any]]]:
    """What is played in each round of the last play-through; none where there are no sounds for it."""
    if not _is_played(pages):
        return []
    return [
        [{"lesson": one.piece} | _sound_for(pages.contents[one.piece], one.rung.bpm) for one in each]
        for each in play_through_rounds(pages.lesson)
    ]


def _rounds(pages: _Pages, words: Catalogue) -> str:
    """The rounds of the last play-through as a table: a row for each piece, a column for each round."""
    rounds = play_through_rounds(pages.lesson)
    heads = "".join(element("th", text(rung_name(each[0].rung, words)), scope="col") for each in rounds)
    rows = [element("td") + heads]
    buttons = [_row_button(number, rung_name(each[0].rung, words), words) for number, each in enumerate(rounds)]
    for played in zip(*rounds, strict=True):
        title = title_words(pages.lesson.pieces[played[0].piece].lesson, words)
        tempos = "".join(element("td", text(_tempo(pages, one, words))) for one in played)
        rows.append(element("th", text(title), scope="row") + tempos)
    if _is_played(pages):
        rows.append(element("td") + "".join(element("td", button) for button in buttons))
    table = element("table", "".join(element("tr", row) for row in rows))
    return element("div", table, class_="rounds", tabindex=0, role="group", aria_label=words.say("sheet.tempo"))


def _ending(pages: _Pages) -> str:
    if not pages.lesson.play_through:
        return ""
    rounds = in_each_language(pages.catalogues, lambda words: _rounds(pages, words))
    return _section(pages, ENDING, "ending", _told(pages, lambda said: said.last) + rounds)


def _data(pages: _Pages) -> dict[str, Any]:
    """What the page's script is told: of each lesson what it is told of one alone, and which pieces there are."""
    lessons = []
    for contents in pages.contents:
        told = contents.script_data()
        own = {
            name: {key: value for key, value in said.items() if key not in COMMON_WORDS}
            for name, said in contents.words.items()
        }
        lessons.append(told | {"words": own})
    pieces: list[dict[str, Any]] = [{"name": group.name, "lessons": list(group.places)} for group in pages.groups]
    if pages.lesson.play_through:
        pieces.append({"name": ENDING, "lessons": []})
    return {"words": pages.words, "lessons": lessons, "pieces": pieces, "rounds": _played_rounds(pages)}


def format_pieces(
    lesson: LessonOfPieces, *, sounds: Sequence[Sequence[PageSound]], catalogues: Sequence[Catalogue]
) -> str:
    """The page of several pieces as HTML.

    sounds : of each piece, in the lesson's order.
    """
    contents = tuple(
        contents_of(piece.lesson, sounds=some, catalogues=catalogues)
        for piece, some in zip(lesson.pieces, sounds, strict=True)
    )
    groups = groups_of_pieces(lesson)
    said = {one.name: said_of_pieces(lesson, groups, one) for one in catalogues}
    words = _words(contents[0], groups, said, catalogues)
    pages = _Pages(lesson, groups, contents, said, words, tuple(catalogues))
    pieces = "\n".join(_piece(pages, index) for index in range(len(groups)))
    frame = PageFrame(
        title=lesson.title or groups[0].title(catalogues[0]),
        top=by_section(by_line(lesson)) + _told(pages, lambda one: one.opening) + _list(pages),
        main=f"{pieces}\n{_ending(pages)}",
        main_class="",
        strips="".join(strip_style(one.strip, f"#{_prefix(place)}lesson") for place, one in enumerate(contents)),
        symbols="",
        skip_to=groups[0].name,
        data=_data(pages),
        has_keys=any(one.is_played for one in contents),
    )
    return format_frame(frame, pages.first)

"""What the film of several pieces says: its cards, captions, chapters, and the text that is published with it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from reedpath.data import replace
from reedpath.film.captions import Cue, broken_lines, caption_cues, chapter_begins, chapters_from, scene_words
from reedpath.film.cards import FACTS, TEXT, TITLE, CardRow, facts_joined, text_picture
from reedpath.film.pieces_timeline import FilmCard, FilmStretch, PiecesTimeline, card_lines
from reedpath.film.publishing import TEXT_ROOM, TOP, as_list, caution_lines, chapter_lines, with_ribbon
from reedpath.film.screens import Screen, load_screen
from reedpath.lesson import Lesson, LessonOfPieces, VariantKind, by_line, play_through_rounds, whole_steps
from reedpath.page import Palette, facts_of, load_palette
from reedpath.wording import Catalogue, harp_words, named_words

if TYPE_CHECKING:
    from PIL import Image

# parts of a card's height between which its words stand
CARD_ROOM = (0.08, 0.92)
# air between its texts, parts of their size
APART = 0.6


def shown_lesson(lesson: LessonOfPieces, stretch: FilmStretch, words: Catalogue) -> Lesson:
    """The lesson of a stretch; in a row on several harps, its title names its harp too."""
    shown = lesson.pieces[stretch.piece].lesson
    if stretch.round is None or len({lesson.pieces[one].harp for one in lesson.play_through}) < 2:
        return shown
    return replace(shown, title=f"{shown.title} · {harp_words(shown.route.harp, words)}")


def _facts(lesson: LessonOfPieces, piece: int, words: Catalogue) -> list[str]:
    return [fact["value"] for fact in facts_of(lesson.pieces[piece].lesson.route, words)]


def _made(lesson: LessonOfPieces) -> list[str]:
    """Who made it, and when."""
    return [one for one in (lesson.author.strip(), lesson.date.strip()) if one]


def piece_title(lesson: LessonOfPieces, piece: int, words: Catalogue) -> str:
    """What a piece is called in passing: its title, with its level where it is there at several."""
    one = lesson.pieces[piece]
    if one.variant is not VariantKind.LEVEL and not lesson.variants_of(piece, VariantKind.LEVEL):
        return one.lesson.title
    return words.say("film.at_level", title=one.lesson.title, level=named_words("level", one.level, words))


def _title(lesson: LessonOfPieces) -> str:
    return lesson.title or lesson.pieces[0].lesson.title


def card_texts(lesson: LessonOfPieces, card: FilmCard, words: Catalogue) -> list[tuple[str, CardRow]]:
    """What stands on a card: a title, facts, sentences."""
    heading, lines = card_lines(card, whole_steps(lesson, words))
    told = [(heading or _title(lesson), TITLE)]
    if card.piece is not None:
        told.append((facts_joined(_facts(lesson, card.piece, words)), FACTS))
    elif card.round is None:
        told.append((facts_joined(_made(lesson)), FACTS))
    return [*told, (" ".join(lines), TEXT)]


def card_picture(
    lesson: LessonOfPieces, card: FilmCard, screen: Screen, palette: Palette, words: Catalogue
) -> Image.Image:
    """The picture of a card."""
    texts = [(text, row) for text, row in card_texts(lesson, card, words) if text]
    return text_picture(texts, screen, palette, room=CARD_ROOM, apart=APART)


def pieces_caption_cues(lesson: LessonOfPieces, timeline: PiecesTimeline, words: Catalogue) -> tuple[Cue, ...]:
    """The captions in a language: what the cards say, then those of each piece."""
    blocks = whole_steps(lesson, words)
    cues: list[Cue] = []
    for stretch in timeline.stretches:
        if isinstance(stretch, FilmStretch):
            cues += caption_cues(shown_lesson(lesson, stretch, words), stretch.timeline, words)
            continue
        heading, lines = card_lines(stretch, blocks)
        most = words.grammar.captions.line
        said = [one for text in (heading or _title(lesson), *lines) for one in broken_lines(text, most)]
        if said:
            cues.append(Cue(stretch.start_seconds, stretch.end_seconds, tuple(said)))
    return tuple(cues)


def _begins(
    lesson: LessonOfPieces, timeline: PiecesTimeline, words: Catalogue, *, by_scene: bool
) -> Iterator[tuple[float, str]]:
    """When chapters begin and what they are called: cards by their headings, the rest under their piece's title."""
    blocks, rounds = whole_steps(lesson, words), play_through_rounds(lesson)
    for stretch in timeline.stretches:
        if isinstance(stretch, FilmCard):
            heading, _ = card_lines(stretch, blocks)
            if stretch.round is not None:
                tempo = named_words("rung", rounds[stretch.round][0].rung.name, words)
                heading = words.say("film.chapter", about=heading, tempo=tempo)
            yield stretch.start_seconds, heading or _title(lesson)
            continue
        title = piece_title(lesson, stretch.piece, words)
        if by_scene or stretch.round is not None:
            begins = [(scene.start_seconds, scene_words(scene, words)) for scene in stretch.timeline.scenes]
        else:
            begins = chapter_begins(shown_lesson(lesson, stretch, words), stretch.timeline.scenes, words)
        own = lesson.pieces[stretch.piece].lesson.title
        for start, about in begins:
            # what comes before the parts has the lesson's title already
            is_titled = bool(own) and about.startswith(own)
            yield start, about if is_titled else words.say("film.of_piece", title=title, about=about)


def pieces_chapter_cues(lesson: LessonOfPieces, timeline: PiecesTimeline, words: Catalogue) -> tuple[Cue, ...]:
    """The chapters in a language, each up to the next one's start: one for each card, each part of each scene of a
    piece, and each piece that is played in a row.
    """
    return chapters_from(list(_begins(lesson, timeline, words, by_scene=False)), timeline.seconds)


def _listed(lesson: LessonOfPieces, timeline: PiecesTimeline, words: Catalogue) -> tuple[tuple[float, str], ...]:
    """The chapters for the film's text: a card is one with what follows it, a round is one."""
    begins: list[tuple[float, str]] = []
    cards = {one.start_seconds for one in timeline.stretches if isinstance(one, FilmCard)}
    rounds = {
        one.start_seconds for one in timeline.stretches if isinstance(one, FilmStretch) and one.round is not None
    }
    after_card = False
    for start, title in _begins(lesson, timeline, words, by_scene=True):
        if start in cards or (not after_card and start not in rounds):
            begins.append((start, title))
        after_card = start in cards
    return as_list(chapters_from(begins, timeline.seconds))


def pieces_film_text(lesson: LessonOfPieces, timeline: PiecesTimeline, words: Catalogue) -> str:
    """The text to publish with a film, as plain lines: title, pieces, chapters with their times, cautions."""
    told = [_title(lesson), *filter(None, [by_line(lesson)]), ""]
    for block in whole_steps(lesson, words):
        if block.place.piece is not None:
            value = ", ".join(_facts(lesson, block.place.piece, words))
            told.append(words.say("film.fact", name=block.title, value=value))
    told += ["", *chapter_lines(_listed(lesson, timeline, words), timeline.seconds), "", *caution_lines(words)]
    return "\n".join(told) + "\n"


def encode_pieces_title_picture(
    lesson: LessonOfPieces, words: Catalogue, *, screen: str = "landscape", palette: str = "night"
) -> bytes:
    """The title picture of the film of several pieces as PNG: title, pieces, harps, how the first ribbon begins."""
    shown, inks = load_screen(screen), load_palette(palette)
    titles = [piece.lesson.title for piece in lesson.pieces if piece.variant_of is None]
    harps = [harp_words(harp, words) for harp in lesson.harps]
    facts = facts_joined([*_made(lesson), *dict.fromkeys(titles), *harps])
    image = text_picture([(_title(lesson), TITLE), (facts, FACTS)], shown, inks, room=(TOP, TEXT_ROOM))
    return with_ribbon(image, lesson.pieces[0].lesson, shown, inks, words)

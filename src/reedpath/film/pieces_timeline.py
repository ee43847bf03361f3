"""The timeline of a lesson of several pieces: a card, then each piece as a film of its own, at the end all in a row.

Every stretch has its own timeline on the film's clock: nothing of a piece needs to be known while another is shown.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from dataclasses import replace as with_fields

from reedpath.data import replace
from reedpath.errors import FilmError
from reedpath.film.caption_groups import CaptionGroup, caption_groups_of, card_seconds
from reedpath.film.layout import lay_out_film, scene_at_rung
from reedpath.film.timeline import Timeline
from reedpath.lesson import (
    Lesson,
    LessonOfPieces,
    PlayedPiece,
    Rung,
    StepKind,
    WholeBlock,
    WholeLine,
    play_through_rounds,
    played_alike,
    rungs_named,
    whole_steps,
)
from reedpath.sound import PlayAlong
from reedpath.wording import CaptionShape, load_catalogue

# what is said of the rounds of the last play-through after the first, by the keys of its lines
LATER_ROUNDS = ("row_faster", "row_full")


@dataclass(frozen=True, slots=True)
class FilmCard:
    """A card: what is said of the whole at the film's start, before a piece, or before a round of all in a row.

    start_seconds, end_seconds : film time.
    piece : index of the piece that it is before; None for none.
    round : number of the round that it is before, from 0; None for none.
    """

    start_seconds: float
    end_seconds: float
    piece: int | None = None
    round: int | None = None


@dataclass(frozen=True, slots=True)
class FilmStretch:
    """A piece, as the film of its lesson, or one playing of it in a round.

    timeline : on the film's clock.
    piece : its index.
    round : number of the round that it is played in, from 0; None where it is taught.
    """

    timeline: Timeline
    piece: int
    round: int | None = None

    @property
    def start_seconds(self) -> float:
        """When it begins, film time."""
        return self.timeline.scenes[0].start_seconds

    @property
    def end_seconds(self) -> float:
        """When it ends, film time."""
        return self.timeline.seconds


@dataclass(frozen=True, slots=True)
class PiecesTimeline:
    """A whole film.

    stretches : in order, each beginning where the one before ends.
    """

    stretches: tuple[FilmCard | FilmStretch, ...]

    @property
    def seconds(self) -> float:
        """Length of the film."""
        return self.stretches[-1].end_seconds

    def at(self, seconds: float) -> FilmCard | FilmStretch:
        """The stretch of a moment; the first before it begins, the last after its end."""
        place = bisect_right(self.stretches, seconds, key=lambda one: one.start_seconds) - 1
        return self.stretches[max(0, place)]


def card_lines(card: FilmCard, blocks: tuple[WholeBlock, ...]) -> tuple[str, tuple[str, ...]]:
    """Heading and sentences of a card, from what is said of the whole in a language.

    The film's own title is said by what shows the card: its heading is empty.
    """
    if card.piece is not None:
        block = next(one for one in blocks if one.place.piece == card.piece and one.place.block == "piece")
        return block.title, tuple(line.text for line in block.lines)
    if card.round is not None:
        block = next(one for one in blocks if one.place.block == "ending")
        return block.title, tuple(line.text for line in _of_round(block.lines, card.round))
    block = next(one for one in blocks if one.place.block == "opening")
    return "", tuple(line.text for line in block.lines)


def _of_round(lines: tuple[WholeLine, ...], number: int) -> Iterator[WholeLine]:
    """What is said before a round: a person's own notes go with what they stand after."""
    now = 0
    for line in lines:
        if line.about in LATER_ROUNDS:
            now = LATER_ROUNDS.index(line.about) + 1
        if now == number:
            yield line


@dataclass(slots=True)
class _LayingOut:
    """A film while it is laid out.

    blocks, shapes : what is said, and how captions are, in each language.
    at : the moment reached, film time.
    """

    lesson: LessonOfPieces
    blocks: tuple[tuple[WholeBlock, ...], ...]
    shapes: tuple[CaptionShape, ...]
    at: float = 0.0

    def card(self, *, piece: int | None = None, round: int | None = None) -> FilmCard:
        """A card that stands as long as the slowest language needs to be read."""
        blank = FilmCard(self.at, self.at, piece, round)
        told = (card_lines(blank, blocks) for blocks in self.blocks)
        said = (" ".join((heading or self.lesson.title, *lines)) for heading, lines in told)
        self.at += card_seconds(zip(said, self.shapes, strict=True))
        return FilmCard(blank.start_seconds, self.at, piece, round)

    def stretch(self, timeline: Timeline, piece: int, round: int | None = None) -> FilmStretch:
        """A stretch that begins now."""
        self.at = timeline.seconds
        return FilmStretch(timeline, piece, round)


def _chosen(lesson: Lesson, names: Collection[str]) -> tuple[Rung, ...]:
    """The tempos of those names that a piece has; its own tempo where it has none of them."""
    named = tuple(rung for rung in lesson.ladder if not names or rung.name in names)
    return named or lesson.ladder[-1:]


def _check_names(lesson: LessonOfPieces, names: Collection[str]) -> None:
    """A SettingsError for a name that no piece's ladder has."""
    rungs = {rung.name: rung for piece in lesson.pieces for rung in piece.lesson.ladder}
    rungs_named(tuple(rungs.values()), names)


def _in_a_row(
    lesson: Lesson, played: PlayedPiece, groups: tuple[CaptionGroup, ...], start: float, play: PlayAlong | None
) -> Timeline:
    """A piece played through at a tempo that need not be one of its ladder; its title stands over all of it."""
    at_tempo = replace(lesson, ladder=(played.rung,))
    scene = scene_at_rung(at_tempo, played.rung, groups, start_seconds=start, play=play)
    scene = with_fields(scene, headings=())
    return Timeline((scene,), scene.end_seconds)


def lay_out_pieces(
    lesson: LessonOfPieces,
    *,
    rungs: Collection[str] = (),
    with_steps: bool = True,
    play: PlayAlong | None = None,
) -> PiecesTimeline:
    """The film of a lesson of several pieces: a card for the whole; for each piece a card, then the film of its
    lesson; at the end a card for each round, and all pieces at its tempo.

    A piece in which there is nothing to play, and a level at which nothing is played otherwise, has its card alone.

    rungs : names of tempos; none for all. A piece that has none of them is played at its own tempo.
    with_steps, play : as for `lay_out_film`.

    Raises `FilmError` for nothing to play in any piece. Raises `SettingsError` for a tempo that no piece has. Raises
    `SoundError` or `SettingsError` for a band that cannot play this.
    """
    if not any(piece.lesson.route.events for piece in lesson.pieces):
        raise FilmError("film.nothing_to_film")
    _check_names(lesson, rungs)
    film = _LayingOut(
        lesson,
        tuple(whole_steps(lesson, language) for language in lesson.languages),
        tuple(load_catalogue(language).grammar.captions for language in lesson.languages),
    )
    stretches: list[FilmCard | FilmStretch] = [film.card()]
    for index, piece in enumerate(lesson.pieces):
        stretches.append(film.card(piece=index))
        if piece.lesson.route.events and played_alike(lesson, index) is None:
            chosen = _chosen(piece.lesson, rungs)
            timeline = lay_out_film(
                piece.lesson, rungs=chosen, with_steps=with_steps, play=play, start_seconds=film.at
            )
            stretches.append(film.stretch(timeline, index))
    groups = {
        index: tuple(one for one in caption_groups_of(lesson.pieces[index].lesson) if one.kind is not StepKind.LADDER)
        for index in lesson.play_through
    }
    for number, round in enumerate(play_through_rounds(lesson)):
        played = [one for one in round if lesson.pieces[one.piece].lesson.route.events]
        if rungs and not any(one.rung.name in rungs for one in played):
            continue
        stretches.append(film.card(round=number))
        for one in played:
            timeline = _in_a_row(lesson.pieces[one.piece].lesson, one, groups[one.piece], film.at, play)
            stretches.append(film.stretch(timeline, one.piece, number))
    return PiecesTimeline(tuple(stretches))

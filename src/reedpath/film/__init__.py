"""Film: timeline, captions, frames and encoding. Knows nothing of jobs and doors."""

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face

if TYPE_CHECKING:
    from reedpath.film.captions import Cue, caption_cues, chapter_cues, format_srt, format_webvtt
    from reedpath.film.cut_proposal import CutOrder, proposed_cut
    from reedpath.film.cut_timeline import encode_timeline
    from reedpath.film.encode import FilmProgress
    from reedpath.film.film_cut import (
        CutKind,
        CutPiece,
        CutWhy,
        FilmClock,
        FilmCut,
        checked_cut,
        decode_cut,
        encode_cut,
        loudness_in_tenths,
        on_pictures,
    )
    from reedpath.film.film_reader import FilmFacts, footage_facts, picture_rates, seekable_film
    from reedpath.film.footage import Footage, FoundPlay, SingleNote, found_play
    from reedpath.film.layout import lay_out_film, lay_out_takes
    from reedpath.film.lesson_film import FilmWishes, film_lesson
    from reedpath.film.overlay import film_overlay, overlay_format, overlay_kinds
    from reedpath.film.pieces_film import film_pieces
    from reedpath.film.pieces_timeline import FilmCard, FilmStretch, PiecesTimeline, lay_out_pieces
    from reedpath.film.pieces_words import (
        encode_pieces_title_picture,
        pieces_caption_cues,
        pieces_chapter_cues,
        pieces_film_text,
    )
    from reedpath.film.publishing import chapter_lines, encode_title_picture, film_text, listed_chapters
    from reedpath.film.take_film import TakeWishes, film_as_cut, film_facts, film_seconds, film_takes, takes_format
    from reedpath.film.timeline import Caption, Glide, Scene, SceneKind, Timeline
else:
    __getattr__ = lazy_face(__name__)

__all__ = [
    "Caption",
    "Cue",
    "CutKind",
    "CutOrder",
    "CutPiece",
    "CutWhy",
    "FilmCard",
    "FilmClock",
    "FilmCut",
    "FilmFacts",
    "FilmProgress",
    "FilmStretch",
    "FilmWishes",
    "Footage",
    "FoundPlay",
    "Glide",
    "PiecesTimeline",
    "Scene",
    "SceneKind",
    "SingleNote",
    "TakeWishes",
    "Timeline",
    "caption_cues",
    "chapter_cues",
    "chapter_lines",
    "checked_cut",
    "decode_cut",
    "encode_cut",
    "encode_pieces_title_picture",
    "encode_timeline",
    "encode_title_picture",
    "film_as_cut",
    "film_facts",
    "film_lesson",
    "film_overlay",
    "film_pieces",
    "film_seconds",
    "film_takes",
    "film_text",
    "footage_facts",
    "format_srt",
    "format_webvtt",
    "found_play",
    "lay_out_film",
    "lay_out_pieces",
    "lay_out_takes",
    "listed_chapters",
    "loudness_in_tenths",
    "on_pictures",
    "overlay_format",
    "overlay_kinds",
    "picture_rates",
    "pieces_caption_cues",
    "pieces_chapter_cues",
    "pieces_film_text",
    "proposed_cut",
    "seekable_film",
    "takes_format",
]

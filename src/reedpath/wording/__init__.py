"""Wording: message catalogues, and the one place that names a move in words. Knows nothing of lessons or doors."""

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face

if TYPE_CHECKING:
    from reedpath.wording.bars import bars_words
    from reedpath.wording.catalogue import Catalogue, capital
    from reedpath.wording.error_messages import error_hint, error_words, place_words
    from reedpath.wording.form_places import (
        chords_words,
        form_rows,
        form_title,
        place_bars_words,
        place_reason,
        place_starts_words,
    )
    from reedpath.wording.grammar import CaptionShape
    from reedpath.wording.instruments import (
        CAUTIONS,
        full_harp_words,
        harp_words,
        key_words,
        named_words,
        plain_names,
        position_words,
        shift_words,
        temperament_words,
        tuning_words,
        typed_names,
    )
    from reedpath.wording.left_out import LeftOutBlock, left_out_blocks, left_out_words
    from reedpath.wording.loading import (
        catalogue_names,
        load_catalogue,
        load_studio_catalogue,
        parse_catalogue,
    )
    from reedpath.wording.moves import covered_words, hole_words, move_in_sentence, move_words
    from reedpath.wording.tempos import clock_words, counted_bpm, tempo_sign, tempo_unit, tempo_words
else:
    __getattr__ = lazy_face(__name__)

__all__ = [
    "CAUTIONS",
    "CaptionShape",
    "Catalogue",
    "LeftOutBlock",
    "bars_words",
    "capital",
    "catalogue_names",
    "chords_words",
    "clock_words",
    "counted_bpm",
    "covered_words",
    "error_hint",
    "error_words",
    "form_rows",
    "form_title",
    "full_harp_words",
    "harp_words",
    "hole_words",
    "key_words",
    "left_out_blocks",
    "left_out_words",
    "load_catalogue",
    "load_studio_catalogue",
    "move_in_sentence",
    "move_words",
    "named_words",
    "parse_catalogue",
    "place_bars_words",
    "place_reason",
    "place_starts_words",
    "place_words",
    "plain_names",
    "position_words",
    "shift_words",
    "temperament_words",
    "tempo_sign",
    "tempo_unit",
    "tempo_words",
    "tuning_words",
    "typed_names",
]

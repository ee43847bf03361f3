"""Pages: tab text, ribbon, chart, score, engraving, hand-out. Knows nothing of sound."""

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face

if TYPE_CHECKING:
    from reedpath.page.badges import badge_shapes, badge_width, dark_times, lit_hole
    from reedpath.page.chart_svg import ChartLook, format_chart_svg, format_route_chart_svg
    from reedpath.page.drawing.drawing_data import load_measures, text_width
    from reedpath.page.drawing.palette import Palette, Style, load_palette
    from reedpath.page.drawing.shapes import (
        Box,
        Curve,
        Label,
        Shape,
        bounds_of,
        comb_hole,
        flattened,
        line,
        rounded_box,
    )
    from reedpath.page.engrave.engraver import ScoreLook, engrave_pages, engrave_score
    from reedpath.page.handout.contents import facts_of, title_words
    from reedpath.page.handout.encoding import encode_handout, encode_handout_of_pieces
    from reedpath.page.handout.joined_pdfs import join_pdfs
    from reedpath.page.handout.rows import change_words
    from reedpath.page.handout.typesetting import paper_names
    from reedpath.page.ribbon.grid import parts_in_beats
    from reedpath.page.ribbon.redrawing import DrawnRibbon, DrawnSystem, draw_ribbon
    from reedpath.page.ribbon.svg import RibbonLook, event_labels, event_words, format_ribbon_svg
    from reedpath.page.ribbon.systems import System, ribbon_of
    from reedpath.page.score.musicxml import encode_musicxml
    from reedpath.page.tab_of_pieces import format_tab_of_pieces
    from reedpath.page.tabtext.printing import format_left_out, format_tab
    from reedpath.page.tabtext.reading import ReadTab, read_tab
    from reedpath.page.take_svg import format_take_svg, stacked_pictures
    from reedpath.page.tune_table import (
        encode_tune_csv,
        encode_tune_page,
        tune_cells,
        tune_columns,
        tune_summary,
    )
    from reedpath.page.web.encoding import encode_lesson_page, encode_page_of_pieces
    from reedpath.page.web.lesson_index import IndexedLesson, encode_lesson_index, lesson_seconds
    from reedpath.page.web.ribbons import StripPicture, strip_picture
    from reedpath.page.web.sounds import CountInBeat, PageSound
    from reedpath.page.web.symbols import MoveSymbols, signs_of_route
else:
    __getattr__ = lazy_face(__name__)

__all__ = [
    "Box",
    "ChartLook",
    "CountInBeat",
    "Curve",
    "DrawnRibbon",
    "DrawnSystem",
    "IndexedLesson",
    "Label",
    "MoveSymbols",
    "PageSound",
    "Palette",
    "ReadTab",
    "RibbonLook",
    "ScoreLook",
    "Shape",
    "StripPicture",
    "Style",
    "System",
    "badge_shapes",
    "badge_width",
    "bounds_of",
    "change_words",
    "comb_hole",
    "dark_times",
    "draw_ribbon",
    "encode_handout",
    "encode_handout_of_pieces",
    "encode_lesson_index",
    "encode_lesson_page",
    "encode_musicxml",
    "encode_page_of_pieces",
    "encode_tune_csv",
    "encode_tune_page",
    "engrave_pages",
    "engrave_score",
    "event_labels",
    "event_words",
    "facts_of",
    "flattened",
    "format_chart_svg",
    "format_left_out",
    "format_ribbon_svg",
    "format_route_chart_svg",
    "format_tab",
    "format_tab_of_pieces",
    "format_take_svg",
    "join_pdfs",
    "lesson_seconds",
    "line",
    "lit_hole",
    "load_measures",
    "load_palette",
    "paper_names",
    "parts_in_beats",
    "read_tab",
    "ribbon_of",
    "rounded_box",
    "signs_of_route",
    "stacked_pictures",
    "strip_picture",
    "text_width",
    "title_words",
    "tune_cells",
    "tune_columns",
    "tune_summary",
]

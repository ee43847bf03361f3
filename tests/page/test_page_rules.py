"""Rules of pages and scores at their bounds, on values alone: no file is written and nothing is engraved."""

from __future__ import annotations

import json
from dataclasses import replace
from fractions import Fraction as F
from types import SimpleNamespace

import numpy as np
import pytest

from reedpath.arrange import Choice
from reedpath.errors import PageError
from reedpath.harp import Breath, Move, make_harp
from reedpath.lesson import Rung
from reedpath.listen import TakeStroke
from reedpath.page import CountInBeat, PageSound, take_svg
from reedpath.page.chart import chart_of, used_sounds
from reedpath.page.drawing.drawing_data import load_layout, load_measures, text_width
from reedpath.page.drawing.legend import Entry, around, fitted_text, heading_of, laid_out
from reedpath.page.drawing.shapes import Box, Label, bounds_of, line
from reedpath.page.engrave import heading
from reedpath.page.handout.contents import breakable, capital, title_for_paper
from reedpath.page.ribbon.grid import SystemFrame
from reedpath.page.ribbon.legend import signs_of
from reedpath.page.ribbon.notes import Pen, draw_event, least_rows
from reedpath.page.ribbon.repeats import RepeatedSpan, repeats_in
from reedpath.page.ribbon.svg import RibbonLook, ribbon_strips
from reedpath.page.score.bars import Span, bars_of, grid_of
from reedpath.page.score.sheet import sheet_of
from reedpath.page.score.snapping import snap_spans, writable_lengths
from reedpath.page.score.spelling import Accidentals, Spelled, signature_alters
from reedpath.page.score.tuplets import plan_regions
from reedpath.page.tabtext import systems
from reedpath.page.web import player
from reedpath.page.web.lesson_index import IndexedLesson
from reedpath.page.web.markup import choice, element, in_language, json_text, text
from reedpath.page.web.sounds import check_sounds, sound_times
from reedpath.phrase import Metre, Phrase
from reedpath.wording import load_catalogue
from support.built_routes import built_lesson, built_route

M = load_measures()
COMMON = (Metre(F(0), 4, 4),)

# ------------------------------------------------------------------------------------------------------------ text


@pytest.mark.parametrize(
    ("words", "width"),
    [("", 0), ("-3''", 4), ("e\u0301", 1), ("\u200b", 0), ("漢字", 4), ("ＡＢ", 4), ("a\u0488", 1), ("a\x07", 1)],
)
def test_columns_are_counted_as_they_are_seen(words: str, width: int) -> None:
    assert systems.columns_of_text(words) == width
    assert systems.padded(words, 6) == words + " " * (6 - width)


@pytest.mark.parametrize(
    ("words", "lines"),
    [
        ("one two three", ["one two", "three"]),
        ("one two  thre", ["one two", "thre"]),
        ("abcdefghij k", ["abcdefg", "hij k"]),
        ("漢字漢字", ["漢字漢", "字"]),
        ("a\N{NO-BREAK SPACE}b cdef", ["a\N{NO-BREAK SPACE}b", "cdef"]),
        ("", []),
        (" \n ", []),
    ],
)
def test_words_are_set_in_lines_that_fit(words: str, lines: list[str]) -> None:
    assert systems.wrapped(words, 7) == lines


@pytest.mark.parametrize(("length", "size"), [(1, 25), (34, 25), (35, 19), (64, 19), (65, 15), (140, 15), (141, 12)])
def test_a_title_is_as_large_as_its_line_lets_it(length: int, size: int) -> None:
    assert title_for_paper("x" * length)["size"] == size


def test_the_foot_of_a_page_has_a_short_title() -> None:
    def foot(title: str) -> str:
        return title_for_paper(title)["foot"].replace("\u200b", "")

    assert foot("x" * 60) == "x" * 60
    assert foot("x" * 61) == "x" * 59 + "…"
    assert foot("x" * 58 + " y" + "x" * 9) == "x" * 58 + "…"


def test_only_a_long_word_may_be_broken() -> None:
    assert breakable("x" * 24) == "x" * 24
    assert breakable("x" * 25) == "x" * 24 + "\u200bx"
    assert breakable("x" * 50) == "x" * 24 + "\u200b" + "x" * 24 + "\u200bxx"
    assert breakable("x" * 20 + " " + "x" * 20) == "x" * 20 + " " + "x" * 20
    assert (capital("élan"), capital(""), capital("a b")) == ("Élan", "", "A b")


@pytest.mark.parametrize(
    ("given", "width", "cut"),
    [("short", 99.0, False), ("a longer one", 4.0, False), ("a far longer one " * 3, 4.0, True)],
)
def test_a_heading_is_set_smaller_first_and_then_cut_short(given: str, width: float, cut: bool) -> None:
    told, size = fitted_text(given, 0.8, width)
    assert told.endswith("…") is cut
    assert size + 1e-9 >= 0.56
    assert size <= 0.8
    assert text_width(told, size) <= width + 1e-9
    assert (size == 0.8) is (text_width(given, 0.8) <= width)
    if cut:
        assert size == pytest.approx(0.56)


def test_a_heading_has_the_same_air_on_both_sides() -> None:
    title, below = heading_of("A title", "x" * 200, width=8.0)
    assert (title.x, title.y, title.size, title.anchor) == (0.15, 0.55, 0.8, "start")
    assert (below.x, below.y, below.anchor) == (0.15, 1.4, "start")
    assert text_width(below.text, below.size) <= 7.7


def test_the_title_of_a_score_is_set_smaller_and_cut_at_last() -> None:
    # letters of 0.52 of their size on average, 2.6 mm at least
    assert heading._fitted("x" * 10, 6.4, 100.0) == ("x" * 10, 6.4)
    assert heading._fitted("x" * 50, 6.4, 100.0) == ("x" * 50, pytest.approx(100 / 26))
    told, size = heading._fitted("x" * 200, 6.4, 100.0)
    assert (told, size) == ("x" * 72 + "…", 2.6)
    assert heading._fitted("", 6.4, 100.0) == ("", 6.4)


PAGE = '<svg xmlns="x" width="100mm" height="{}mm" viewBox="0 0 1000 {}" role="img" aria-label="old">{}</svg>'


def test_pages_of_a_score_stand_under_its_heading() -> None:
    made = heading.headed_svg(
        [PAGE.format(20, 200, "first"), PAGE.format(30, 300, "second")], heading.ScoreHeading("T & t", "a line")
    )
    assert 'width="100mm" height="66.00mm" viewBox="0 0 1000 660.0"' in made
    assert 'y="160.0" width="1000" height="200" viewBox="0 0 1000 200"' in made
    assert 'y="360.0" width="1000" height="300" viewBox="0 0 1000 300"' in made
    assert made.count('aria-label="T &amp; t"') == 1
    assert 'aria-label="old"' not in made
    assert '<text x="500" y="64.0"' in made
    assert '<text x="500" y="128.0"' in made
    bare = heading.headed_svg([PAGE.format(20, 200, "first")], heading.ScoreHeading())
    assert 'height="20.00mm"' in bare
    assert "aria-label" not in bare
    with pytest.raises(PageError):
        heading.headed_svg(["<svg/>"], heading.ScoreHeading())


# ---------------------------------------------------------------------------------------------------------- markup


def test_markup_keeps_text_text() -> None:
    assert text("a\x00b\x1f<&\"'") == "ab&lt;&amp;&quot;&#x27;"
    assert element("p") == "<p></p>"
    assert element("p", "x", class_="a", data_first=0, hidden=False, lang=None, open=True) == (
        '<p class="a" data-first="0" open>x</p>'
    )
    assert element("input", value='"') == '<input value="&quot;">'
    assert in_language("x", "fr", is_first=False) == '<div class="told" lang="fr" hidden>x</div>'
    assert in_language("x", "en", is_first=True) == '<div class="told" lang="en">x</div>'
    assert choice("rung", 2, "L", is_chosen=True) == (
        '<input type="radio" name="rung" value="2" id="rung-2" checked><label class="control" for="rung-2">L</label>'
    )
    assert " disabled>" in choice("rung", 2, "L", is_chosen=False, is_closed=True)


def test_data_in_a_script_ends_no_script() -> None:
    data = {"é": "</script>&\u2028\u2029"}
    written = json_text(data)
    assert not set("<>&\u2028\u2029") & set(written)
    assert json.loads(written) == data
    assert "é" in written


def test_a_lesson_of_an_index_is_linked_by_where_it_lies() -> None:
    one = IndexedLesson(built_lesson(built_route("4d")), "./a b//c#", frozenset({"lesson.html"}))
    assert one.address("lesson.html") == "a%20b/c%23/lesson.html"
    assert one.address("sheet.pdf") is None


# ---------------------------------------------------------------------------------------------------------- sounds


ROUTE = built_route("4b 4d 4d")


def sound(**changes) -> PageSound:
    usual = PageSound(
        Rung("full", 1.0, 100.0), "audio/mpeg", b"", (0.01, 1.0, 2.0), (0.9, 2.0, 3.00004), 4.0,
        (CountInBeat(0.0, 1),),
    )  # fmt: skip
    return replace(usual, **changes)


PLACES = [(1.0, 2.0), (2.0, 3.0), (3.0, 4.12345)]


def test_the_times_of_a_sound_land_a_little_before_their_events() -> None:
    times = sound_times(sound(), ROUTE, PLACES)
    assert times["starts"] == [0.01, 1.0, 2.0]
    assert times["from"] == [0.0, 0.98, 1.98]
    assert times["until"] == [0.98, 1.98, 4.0]
    assert times["dark"] == [0.9, 1.93, 3.0]
    assert times["course"] == [[0.01, 1.0], [1.0, 2.0], [2.0, 3.0], [3.0, 4.123]]
    assert times["counts"] == [[0.0, 1]]
    assert times["counted"] == 0.0


def test_the_ribbon_stands_still_where_nothing_goes_on() -> None:
    same = sound(starts=(0.0, 0.0, 2.0), ends=(0.0, 1.0, 2.0))
    assert sound_times(same, ROUTE, PLACES)["course"] == [[0.0, 1.0], [2.0, 3.0]]
    back = sound_times(sound(), ROUTE, [(1.0, 2.0), (1.0, 2.0), (3.0, 4.0)])
    assert back["course"] == [[0.01, 1.0], [2.0, 3.0], [3.0, 4.0]]
    nothing = sound(starts=(), ends=(), counts=())
    assert sound_times(nothing, built_route(""), [])["course"] == []
    assert sound_times(nothing, built_route(""), [])["until"] == []
    assert sound_times(nothing, built_route(""), [])["counted"] == 0.0


@pytest.mark.parametrize(
    ("changes", "key"),
    [
        ({"media_type": "video/mp4"}, "page.no_media_type"),
        ({"media_type": "audio/mpeg; x"}, "page.no_media_type"),
        ({"starts": (0.0, 1.0)}, "page.other_events"),
        ({"ends": (0.0, 1.0)}, "page.other_events"),
        ({"starts": (0.0, 2.0, 1.0)}, "page.sound_goes_back"),
    ],
)
def test_a_sound_that_does_not_fit_is_refused(changes: dict[str, object], key: str) -> None:
    check_sounds([sound(), sound(starts=(1.0, 1.0, 1.0))], ROUTE)
    with pytest.raises(PageError) as raised:
        check_sounds([sound(), sound(**changes)], ROUTE)
    assert raised.value.key == key
    if key == "page.sound_goes_back":
        assert (raised.value.values["event"], raised.value.values["seconds"]) == (2, 1.0)


def test_only_parts_that_are_in_groups_are_folded_away() -> None:
    def folded(*kinds: str) -> range:
        return player._folded(SimpleNamespace(stretches=[SimpleNamespace(kind=kind) for kind in kinds]))

    assert folded("whole", "group", "spot", "part", "part") == range(3, 5)
    assert folded("whole", "part", "part") == range(3, 3)


# ----------------------------------------------------------------------------------------------------------- legends


def entry(words: str, height: float = 0.2) -> Entry:
    return Entry((line("bar", (0.0, -height / 2), (1.5, height / 2)),), words)


def labels(shapes) -> list[Label]:
    return [shape for shape in shapes if isinstance(shape, Label)]


def test_a_legend_stands_in_columns_that_fit() -> None:
    wide = text_width("abc", M.small_text)
    column = 1.5 + 0.3 + wide + 0.8
    entries = [entry("abc"), entry("a"), entry("b"), entry("c")]
    for width, left in ((0.2 + 2 * column - 0.8 + 0.01, [0, 1, 0, 1]), (0.2 + 2 * column - 0.8 - 0.01, [0] * 4)):
        legend = laid_out(entries, width=width, measures=M)
        assert [one.x for one in labels(legend.shapes)] == pytest.approx([2.0 + column * place for place in left])
    lines = 4
    assert legend.height == pytest.approx(lines * M.small_text + (lines - 1) * 0.34)
    assert laid_out([], width=9.0, measures=M).shapes == ()


def test_a_legend_in_print_runs_on() -> None:
    entries = [entry("abc"), entry("a"), entry("bc")]
    first, second = (1.8 + M.letters * text_width(words, M.small_text) for words in ("abc", "a"))
    legend = laid_out(entries, width=0.2 + first + 0.8 + second + 0.01, measures=M, in_print=True)
    assert [one.x for one in labels(legend.shapes)] == pytest.approx([2.0, 2.0 + first + 0.8, 2.0])
    assert len({one.y for one in labels(legend.shapes)}) == 2


def test_samples_and_words_share_a_middle() -> None:
    legend = laid_out([entry("a", height=2.0)], width=9.0, measures=M)
    assert legend.height == pytest.approx(2.0)
    box = around([shape for shape in legend.shapes if not isinstance(shape, Label)])
    assert (box.top, box.bottom, box.left) == pytest.approx((0.0, 2.0, 0.2))
    assert labels(legend.shapes)[0].y == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("tokens", "signs"),
    [
        ("4b", ("blow",)),
        ("4d", ("draw",)),
        ("3d''", ("draw", "bend", "weight")),
        ("6bo", ("blow", "overbend")),
        ("(1 2)d", ("draw", "chord")),
        ("[1 4]d", ("draw", "tongue")),
        ("2d:1^1", ("draw", "weight", "let_go")),
        ("2d:1_1", ("draw", "weight", "pressed")),
        ("4d:1~", ("draw", "vibrato")),
        ("4d:1!", ("draw", "accent")),
        ("4d:1g", ("draw", "grace")),
        ("", ()),
    ],
)
def test_the_legend_has_the_signs_that_are_used(tokens: str, signs: tuple[str, ...]) -> None:
    assert signs_of(built_route(tokens)) == signs


# ------------------------------------------------------------------------------------------------------- the ribbon


FRAME = SystemFrame(onset=F(0), end=F(8), left=2.0, rows_per_beat=1.5, lowest=1, highest=5, top=3.0, step=0.25)
PEN = Pen(M, lambda move: "".join(map(str, move.holes)))


def test_what_is_repeated_leads_back_to_its_first_time() -> None:
    span = RepeatedSpan(F(4), F(8), 3)
    assert span.until == 16
    assert [span.back_to_first(F(beats)) for beats in (3, 4, 7, 8, 11, 12, 15, 16)] == [0, 0, 0, 4, 4, 8, 8, 0]


@pytest.mark.parametrize(
    ("onset", "end", "lines"), [(0, 8, 2), (0, 9, 1), (-1, 8, 1), (8, 9, 0), (-4, 0, 0), (2, 4, 2)]
)
def test_repeat_signs_stand_where_the_repeat_begins_and_ends(onset: int, end: int, lines: int) -> None:
    shapes = repeats_in(FRAME, [RepeatedSpan(F(onset), F(end), 2)], M)
    assert sum(shape.role == "end_bar" for shape in shapes) == lines
    assert sum(shape.role == "spot_disc" for shape in shapes) == 2 * lines
    assert [one.text for one in labels(shapes)] == (["×2"] if 0 < end <= 8 else [])


def test_the_dots_of_a_repeat_stand_inside_it() -> None:
    shapes = repeats_in(FRAME, [RepeatedSpan(F(2), F(4), 2)], M)
    boxes = [bounds_of([shape]) for shape in shapes if shape.role == "spot_disc"]
    assert [(box.left + box.right) / 2 for box in boxes] == pytest.approx([5.27, 5.27, 7.73, 7.73])
    assert [(box.top + box.bottom) / 2 for box in boxes[:2]] == pytest.approx([5.0 - 0.24, 5.0 + 0.24])


def events(tokens: str):
    return built_route(tokens).events


def test_an_event_is_drawn_between_its_beats() -> None:
    (one,) = events("r:1 4d:2")
    drawn = draw_event(one, 7, FRAME, PEN)
    (strip,) = drawn.strips
    assert (strip.left, strip.right, strip.cord) == pytest.approx((3.5 + M.gap / 2, 6.5 - M.gap / 2, 4.0))
    assert (drawn.index, drawn.onset, drawn.end, drawn.first, drawn.last) == (7, 1, 3, True, True)
    assert (drawn.breath, drawn.holes, drawn.tab, drawn.asides) == (Breath.DRAW, (4,), "4", ())
    assert [one.text for one in labels(drawn.shapes)] == ["4"]
    (halo,) = drawn.halo
    assert bounds_of([halo]).left == pytest.approx(strip.left - 0.14)


def test_a_very_short_event_is_still_seen() -> None:
    (one,) = events("4d:1/64")
    (strip,) = draw_event(one, 0, FRAME, PEN).strips
    assert strip.width == pytest.approx(0.14)
    (label,) = draw_event(one, 0, FRAME, PEN).asides
    assert label.text == "4"


def test_a_note_that_goes_on_is_open_and_has_its_tab_where_there_is_room() -> None:
    (one,) = events("4d:12")
    here = draw_event(one, 0, FRAME, PEN)
    assert (here.first, here.last, here.strips[0].open_left, here.strips[0].open_right) == (True, False, False, True)
    assert here.strips[0].right == FRAME.right
    later = SystemFrame(F(8), F(16), 2.0, 1.5, 1, 5, 3.0, 0.25)
    there = draw_event(one, 0, later, PEN)
    assert (there.first, there.last, there.strips[0].open_left) == (False, True, True)
    assert there.strips[0].left == later.left
    assert [label.text for label in labels(there.shapes)] == ["…4"]


def test_what_is_not_played_has_a_slot_in_its_lane() -> None:
    frame = SystemFrame(F(0), F(8), 2.0, 1.5, 1, 5, 3.0, 0.25, silent_y=1.0)
    (one,) = events("4d:2")
    silent = type(one)(one.event, Choice(None), one.effort)
    drawn = draw_event(silent, 0, frame, PEN)
    box = bounds_of([drawn.shapes[0]])
    assert (box.top, box.bottom) == pytest.approx((1 - 0.42 * M.strip, 1 + 0.42 * M.strip))
    assert (drawn.breath, drawn.holes, drawn.tab, drawn.strips) == (None, (), "", ())
    assert least_rows(silent, PEN) == pytest.approx(M.strip / 2)


def test_a_note_needs_room_for_its_tab_and_more_where_it_glides() -> None:
    plain, attacked, both, grace = events("4d:1 4d:1^1 2d:1^1_1 4d:1g")
    tab = text_width("4", M.tight_text) + 2 * M.tight_pad
    assert least_rows(plain, PEN) == pytest.approx(tab / 0.84 + M.gap)
    assert least_rows(attacked, PEN) == pytest.approx(tab / ((1 - M.attack_share) * 0.84) + M.gap)
    wide = text_width("2", M.tight_text) + 2 * M.tight_pad
    assert least_rows(both, PEN) == pytest.approx(wide / (max(0.3, 1 - 2 * M.attack_share) * 0.84) + M.gap)
    assert least_rows(grace, PEN) == pytest.approx(M.strip / 2)


# --------------------------------------------------------------------------------------------------------- the chart


def test_a_move_of_several_holes_uses_the_sound_of_each() -> None:
    sounds = used_sounds([Move((1, 2), Breath.BLOW), Move((2,), Breath.BLOW)])
    assert len(sounds) == 2


@pytest.mark.parametrize(
    ("width", "blocks", "column"), [(0.6 + 15.0, 1, 1.5), (0.6 + 14.9, 2, 2.1), (0.6 + 18.0, 1, 1.8), (99.0, 1, 2.1)]
)
def test_a_chart_is_cut_where_its_columns_would_be_too_narrow(width: float, blocks: int, column: float) -> None:
    layout = type(load_layout("sheet"))(width=width, row_px=20.0, beat=2.0, dense_beat=2.0)
    chart = chart_of(make_harp("C"), name=str, layout=layout)
    assert len(chart.blocks) == blocks
    assert chart.width == pytest.approx(10 // blocks * column + 0.6)
    tops = [block.top for block in chart.blocks]
    assert tops[0] == 0.0
    if blocks == 2:
        assert tops[1] == pytest.approx(chart.blocks[0].height + 0.8)
    assert chart.height == pytest.approx(tops[-1] + chart.blocks[-1].height)


# ---------------------------------------------------------------------------------------------- the picture of a take


def stroke(beats, semitones, **fields) -> TakeStroke:
    usual = {"event": 0, "hole": 4, "move": Move((4,), Breath.DRAW), "is_right": True} | fields
    return TakeStroke(beats=np.array(beats), semitones=np.array(semitones), **usual)


def test_a_line_is_broken_where_nothing_is_heard() -> None:
    def runs(beats, semitones) -> list[int]:
        return [len(run) for run in take_svg._runs(stroke(beats, semitones), FRAME)]

    assert runs([1.0, 1.25, 1.5], [0.0, 0.0, 0.0]) == [3]
    assert runs([1.0, 1.26, 1.5], [0.0, 0.0, 0.0]) == [1, 2]
    assert runs([1.0, 1.1, 1.2, 1.3], [0.0, np.nan, 0.0, 0.0]) == [1, 2]
    assert runs([-0.1, 0.0, 7.9, 8.0], [0.0] * 4) == [1, 1]
    assert runs([], []) == []
    ((point,),) = take_svg._runs(stroke([2.0], [-1.0]), FRAME)
    assert point == (5.0, 4.25)


def test_lines_are_inked_by_what_they_are() -> None:
    roles = [take_svg._role(stroke([], [], **fields)) for fields in ({}, {"is_right": False}, {"event": None})]
    assert roles == ["take_heard", "take_off", "take_extra"]


def test_a_cross_is_as_wide_as_its_note() -> None:
    for width, half in ((0.1, 0.14), (0.4, 0.2), (3.0, 0.3)):
        box = bounds_of(take_svg._cross(Box(1.0, 1.0, 1.0 + width, 2.0)))
        middle = 1.0 + width / 2
        assert (box.left, box.right, box.top, box.bottom) == pytest.approx((middle - half, middle + half, 1.2, 1.8))


# --------------------------------------------------------------------------------------------------------- the score


def test_places_of_a_bar_have_their_weight() -> None:
    common = grid_of(4, 4)
    assert [common.depth(F(place)) for place in (0, 4, 2, 1, 3)] == [0, 0, 1, 2, 2]
    assert [common.depth(place) for place in (F(1, 2), F(1, 4), F(1, 3))] == [3, 4, 16]
    compound = grid_of(6, 8)
    assert [compound.depth(place) for place in (F(3, 2), F(1, 2), F(1), F(1, 4))] == [1, 2, 2, 3]
    assert (common.strict, compound.strict, common.longest_beat, compound.longest_beat) == (False, True, 1, F(3, 2))
    assert (common.beat_depth, compound.beat_depth) == (2, 1)


def test_the_strongest_places_between_two_others_are_found() -> None:
    common = grid_of(4, 4)
    assert common.strongest_inside(F(0), F(4)) == (1, [2])
    assert common.strongest_inside(F(0), F(2)) == (2, [1])
    assert common.strongest_inside(F(1), F(3)) == (1, [2])
    assert common.strongest_inside(F(1, 2), F(3, 2)) == (2, [1])
    assert common.strongest_inside(F(0), F(1)) == (3, [F(1, 2)])
    assert grid_of(3, 4).strongest_inside(F(0), F(3)) == (1, [1, 2])
    assert grid_of(9, 8).strongest_inside(F(0), F(9, 2)) == (1, [F(3, 2), 3])


def test_bars_are_numbered_and_a_pickup_is_the_end_of_one() -> None:
    found = bars_of(Phrase((), metres=COMMON, pickup=F(1)), end=F(6))
    assert [(bar.number, bar.onset, bar.end, bar.offset, bar.is_full) for bar in found] == [
        (0, 0, 1, 3, False),
        (1, 1, 5, 0, True),
        (2, 5, 9, 0, True),
    ]
    assert [bar.shows_metre for bar in found] == [True, False, False]
    assert (found[0].place(F(0)), found[0].beat_at(F(3)), found[1].place(F(2))) == (3, 0, 1)
    assert len(bars_of(Phrase((), metres=COMMON))) == 1


def snapped(*edges, metres=COMMON):
    spans = tuple((F(a), F(b)) for a, b in edges)
    end = max(b for _, b in spans)
    return snap_spans(spans, bars_of(Phrase((), metres=metres), end=end))


def test_what_can_be_written_stays_and_what_can_not_moves_a_little() -> None:
    kept = snapped((0, F(1, 3)), (F(1, 3), F(2, 3)), (1, 2))
    assert kept.moved == ()
    assert kept.spans[0] == (0, F(1, 3))
    # an eleventh of a beat is no note value
    found = snapped((0, F(1, 11)), (F(1, 11), 1), (1, 2))
    assert found.moved == (0, 1)
    assert found.spans[0][0] == 0
    assert found.spans[0][1] == found.spans[1][0]
    assert abs(found.spans[0][1] - F(1, 11)) < F(1, 40)
    assert found.spans[2] == (1, 2)
    # no two boundaries fall together, however near
    near = snapped((0, F(1, 1000)), (F(1, 1000), F(2, 1000)), (F(2, 1000), 1))
    places = [place for place, _ in near.spans]
    assert len(set(places)) == 3
    assert all(start < end for start, end in near.spans)


def test_a_bar_that_ends_on_no_grid_gets_a_length_that_can_be_written() -> None:
    def lengths(pickup: F) -> dict[int, F]:
        return writable_lengths(bars_of(Phrase((), metres=COMMON, pickup=pickup), end=F(4)))

    assert lengths(F(1)) == {}
    assert lengths(F(1, 3)) == {}
    assert lengths(F(1, 11)) == {0: F(1, 12)}
    assert lengths(F(1, 999)) == {0: F(1, 12)}
    assert lengths(F(1) + F(6, 11)) == {0: F(1) + F(7, 12)}


def test_accidentals_hold_for_their_octave_until_the_bar_ends() -> None:
    bar = Accidentals(1)
    f_sharp, f, low_f = Spelled("F", 1, 5), Spelled("F", 0, 5), Spelled("F", 0, 4)
    assert [bar.show(one) for one in (f_sharp, f, f, low_f, f_sharp, Spelled("B", -1, 4), Spelled("C", 2, 5))] == [
        None, "natural", None, "natural", "sharp", "flat", "double-sharp",
    ]  # fmt: skip
    assert Accidentals(0).show(Spelled("E", -2, 4)) == "flat-flat"
    assert signature_alters(0) == {}
    assert signature_alters(7) == dict.fromkeys("FCGDAEB", 1)
    assert signature_alters(-7) == dict.fromkeys("BEADGCF", -1)


def test_a_tuplet_takes_the_smallest_stretch_that_holds_it() -> None:
    grid = grid_of(4, 4)

    def regions(*edges) -> list[tuple[F, F, int, int]]:
        spans = [Span(F(a), F(b)) for a, b in edges]
        return [(one.span.start, one.span.end, one.actual, one.normal) for one in plan_regions(grid, spans)]

    assert regions((0, 4)) == [(0, 4, 1, 1)]
    thirds = [(F(k, 3), F(k + 1, 3)) for k in range(3)]
    assert regions(*thirds, (1, 4)) == [(0, 1, 3, 2), (1, 4, 1, 1)]
    fifths = [(1 + F(k, 5), 1 + F(k + 1, 5)) for k in range(5)]
    assert regions((0, 1), *fifths, (2, 4)) == [(0, 1, 1, 1), (1, 2, 5, 4), (2, 4, 1, 1)]
    assert regions((0, F(2, 3)), (F(2, 3), F(4, 3)), (F(4, 3), 2), (2, 4)) == [(0, 2, 3, 2), (2, 4, 1, 1)]


def test_a_sheet_finds_the_bars_of_its_beats() -> None:
    sheet = sheet_of(built_route("4d:4 4b:4 5d:4", metres=COMMON))
    assert [sheet.bar_at(F(beat)).number for beat in (0, 3, 4, 11, 99)] == [1, 1, 2, 3, 3]
    assert [bar.number for bar in sheet.bars_between(F(4), F(8))] == [2, 3]
    assert [note.index for note in sheet.notes] == [0, 1, 2]
    assert all(note.is_exact for note in sheet.notes)


def test_grace_notes_stand_with_the_note_that_they_lead_to() -> None:
    sheet = sheet_of(built_route("4b:1/8g 4d:7/8 r:1 5d:1/8g", metres=COMMON))
    assert [(note.index, note.graces, note.onset) for note in sheet.notes] == [(1, (0,), 0), (2, (), 2)]


def test_a_ribbon_is_cut_into_strips_of_its_own_height() -> None:
    look = RibbonLook(layout="phone", heading=False)
    played, words = built_route("4d:4 " * 12), load_catalogue("en")
    strips = ribbon_strips(played, look=look, parts=(), catalogue=words, repeats=())
    assert len(strips) > 2
    assert sum(strip.count('class="system"') for strip in strips) == len(strips) - 1
    assert all(strip.startswith("<svg") and strip.endswith("</svg>\n") for strip in strips)

"""How close a hand-out is set, which signs a page shows, and where on its ribbon a heard pitch lies."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from reedpath.data import replace
from reedpath.harp import sound_of
from reedpath.page.drawing.drawing_data import load_measures
from reedpath.page.handout import typesetting
from reedpath.page.handout.typesetting import CLOSER, CLOSEST, MANY_LINES, PARTED, ROOMIEST, parse_papers
from reedpath.page.score import notations
from reedpath.page.score.sheet import sheet_of
from reedpath.page.score.tab_legend import signs_legend
from reedpath.page.web.heard_places import heard_places
from reedpath.page.web.symbols import ABOVE, BELOW, ROW_PX, signs_of_route
from reedpath.phrase import Ornaments
from reedpath.wording import load_catalogue
from support.built_routes import built_route
from support.routes import choose, phrase_of, route_of

SETTINGS = {ROOMIEST: "roomiest", CLOSER: "closer", CLOSEST: "closest", PARTED: "parted"}


@pytest.mark.parametrize(
    ("pieces", "pages", "tried", "chosen"),
    [
        (False, {"roomiest": 1}, 1, "roomiest"),
        (False, {"roomiest": 2, "closer": 1}, 2, "closer"),
        (False, {"roomiest": 2, "closer": 2, "closest": 1}, 3, "closest"),
        (False, {"roomiest": 2, "closer": 2, "closest": 2}, 3, "roomiest"),
        (False, {"roomiest": 3, "closer": 3}, 2, "roomiest"),
        (False, {"roomiest": 4, "closer": 3}, 2, "closer"),
        (False, {"roomiest": 3, "closer": 2, "closest": 2}, 3, "closer"),
        (True, {"roomiest": 1}, 1, "roomiest"),
        (True, {"roomiest": 5, "closer": 5, "parted": 4}, 3, "parted"),
        (True, {"roomiest": 5, "closer": 4, "parted": 4}, 3, "closer"),
    ],
)
def test_a_hand_out_is_set_in_the_roomiest_way_that_saves_a_page(monkeypatch, pieces, pages, tried, chosen) -> None:
    asked: list[str] = []

    def typeset(contents, setting):
        asked.append(SETTINGS[setting])
        return SETTINGS[setting].encode()

    monkeypatch.setattr(typesetting, "typeset", typeset)
    monkeypatch.setattr(typesetting, "_pages", lambda pdf: pages[pdf.decode()])
    contents = {"pieces": ["x"]} if pieces else {}
    assert typesetting.typeset_on_fewest(contents) == chosen.encode()
    assert len(asked) == tried


@pytest.mark.parametrize(("lines", "tried"), [(MANY_LINES - 1, "roomiest"), (MANY_LINES, "closer")])
def test_a_hand_out_of_many_lines_is_set_once_and_close(monkeypatch, lines: int, tried: str) -> None:
    asked: list[str] = []
    monkeypatch.setattr(typesetting, "typeset", lambda contents, setting: asked.append(SETTINGS[setting]) or b"")
    monkeypatch.setattr(typesetting, "_pages", lambda pdf: 1)
    typesetting.typeset_on_fewest({"score": ["<svg/>"] * lines})
    assert asked == [tried]


def test_settings_are_closer_step_by_step() -> None:
    assert [(one.closeness, one.keep_pieces) for one in (ROOMIEST, CLOSER, CLOSEST, PARTED)] == [
        (0, True),
        (1, True),
        (2, True),
        (1, False),
    ]


@pytest.mark.parametrize(
    ("sign", "covered"),
    [
        ("a", True),
        ("\u052f", True),
        ("\u0530", False),
        ("\u1cff", False),
        ("\u1d00", True),
        ("\u2bff", True),
        ("\u2c00", False),
    ],
)
def test_only_some_blocks_are_covered_by_the_faces_that_come_along(sign: str, covered: bool) -> None:
    assert typesetting._is_covered(f"a{sign}b") is covered
    assert typesetting._is_covered("")


def test_all_texts_of_a_sheet_are_looked_at_but_those_of_pictures() -> None:
    contents = {"a": "one", "b": ["two", {"c": "three", "d": 4}], "chart": "no", "score": ["no"], "ribbon": ["no"]}
    assert list(typesetting._texts(contents)) == ["one", "two", "three"]


def test_the_text_of_a_paper_lies_between_its_margins() -> None:
    papers = parse_papers('[own]\npaper = "a4"\nwidth_mm = 100.0\nmargin_mm = 12.5\n')
    assert papers["own"].text_width_mm == 75.0


# --------------------------------------------------------------------------------------------------------- symbols


def test_what_looks_alike_is_one_sign_in_the_order_of_its_first() -> None:
    signs = signs_of_route(built_route("4d 4b 4d:1 4d:1~ 4d:1^1 4b:1!"), notation="sign")
    assert signs.of_events == (0, 1, 0, 2, 3, 1)
    assert signs.shaken == (False, False, True, False)
    assert [one.attack_semitones for one in signs.choices] == [0, 0, 0, -1]
    assert signs.picture(2) == f'<svg class="move" viewBox="{signs.views[2]}"><use href="#sign-2"/></svg>'
    height = round((ABOVE + BELOW) * ROW_PX, 2)
    assert all(view.startswith("0 0 ") and view.endswith(f" {height:g}") for view in signs.views)
    assert len(signs.words(load_catalogue("en"))) == len(signs.moves(load_catalogue("en"))) == 4
    assert signs.symbols.count("<symbol ") == 4
    assert signs.harp.count('class="lit"') == 4


def test_what_is_not_played_has_a_sign_and_lights_nothing() -> None:
    route = choose(built_route("4d 4b"), 0, move=None)
    signs = signs_of_route(route, notation="sign")
    assert signs.of_events == (0, 1)
    assert signs.symbols.count("<symbol ") == 2
    assert signs.harp.count('class="lit"') == 1
    assert 'data-sign="1"' in signs.harp
    assert 'data-sign="0"' not in signs.harp


def test_a_heard_pitch_lies_where_its_hole_and_its_depth_are() -> None:
    route = built_route("4d 3d'' (1 2)b")
    strip = SimpleNamespace(top_rows=2.0, highest_hole=4, semitone_rows=0.25)
    found = heard_places(route, strip, signs_of_route(route, notation="sign"))
    moves = [one.choice.move for one in route.events]
    hz = [[round(one, 3) for one in sound_of(route.harp, move).hz] for move in moves]
    assert found["signs"] == [
        [[hz[0][0], 2.0]],
        [[hz[1][0], 3.5]],
        [[hz[2][0], 5.0], [hz[2][1], 4.0]],
    ]
    assert found["sounds"][:2] == [found["signs"][0][0], found["signs"][1][0]]
    heard = [hz for hz, _ in found["sounds"]]
    assert found["lowest"] == pytest.approx(min(heard) / 2 ** (1.5 / 12), abs=0.001)
    assert found["highest"] == pytest.approx(max(heard) * 2 ** (1.5 / 12), abs=0.001)
    assert (found["octave"], found["near"], found["right"]) == (3.0, 0.125, 0.02083)
    assert load_measures().step > 0


# ------------------------------------------------------------------------------------------------------- notations


def steps(route) -> list[tuple[float, str]]:
    return notations._bend_steps(route.events[0])


def test_the_bends_of_a_note_add_up_to_where_it_is() -> None:
    plain, bend = built_route("4d"), built_route("3d''")
    assert steps(plain) == []
    assert steps(bend) == [(-2, "pre-bend")]
    assert steps(choose(plain, 0, attack_semitones=-1.0)) == [(-1.0, "pre-bend"), (1.0, "release")]
    assert steps(choose(plain, 0, fall_semitones=-1.0)) == [(-1.0, "bend")]
    assert steps(choose(bend, 0, attack_semitones=2.0)) == [(-2.0, "bend")]
    assert steps(choose(bend, 0, attack_semitones=1.0)) == [(-1.0, "pre-bend"), (-1.0, "bend")]
    assert steps(choose(plain, 0, move=None)) == []
    # an overblow is no bend of its reed
    assert steps(built_route("6bo")) == []


def test_quick_notes_are_named_after_the_events_that_they_are_of() -> None:
    moves = [one.choice.move for one in built_route("4b 5b (1 2)b").events]
    route = choose(built_route("4b:1/8g 4d:7/8"), 1, lead_in=tuple(moves[:2]), lead_out=(moves[2],))
    (note,) = sheet_of(route).notes
    assert [(one.id, one.midi) for one in notations.runs_in(sheet_of(route), note)] == [
        ("e0", (72,)),
        ("e1i0", (72,)),
        ("e1i1", (76,)),
    ]
    assert [(one.id, one.midi) for one in notations.runs_out(sheet_of(route), note)] == [("e1o0", (60, 64))]


def test_the_legend_names_vibrato_where_a_note_has_it() -> None:
    words, phrase = load_catalogue("en"), phrase_of("G4 A4")
    shaken = replace(phrase, events=tuple(replace(one, ornaments=Ornaments(vibrato=True)) for one in phrase.events))
    for asked, is_named in ((phrase, False), (shaken, True)):
        said = [sign.words for sign in signs_legend([sheet_of(route_of(asked))], words)]
        assert (words.say("ribbon.vibrato") in said) == is_named

"""Contrast and colour: text at 4.5:1, graphics at 3:1 (WCAG 2.2, W3C 2023, success criteria 1.4.3 and 1.4.11),
and colour never the only sign (1.4.1)."""

from __future__ import annotations

from importlib.resources import files
from itertools import pairwise

import numpy as np
import pytest
from lxml import etree

from reedpath.errors import SettingsError
from reedpath.page import Palette, load_palette
from reedpath.page.drawing.drawing_data import drawing_data, parse_drawing
from reedpath.page.drawing.palette import palette_names
from reedpath.page.web.assets import format_inks
from support.painted import Meeting, inked, meetings
from support.pictures import PICTURES
from support.svg_contrast import contrast_ratio

# WCAG 2.2, "contrast (minimum)" and "non-text contrast"
LEAST = {"text": 4.5, "graphic": 3.0}
# linear-light matrices for a full loss of the long, middle or short cones: Machado, Oliveira & Fernandes, "A
# physiologically-based model for simulation of color vision deficiency", IEEE TVCG 15(6), 2009 (from memory)
LOSSES = {
    "protan": ((0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216), (-0.003882, -0.048116, 1.051998)),
    "deutan": ((0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413), (-0.011820, 0.042940, 0.968881)),
    "tritan": ((1.255528, -0.076749, -0.178779), (-0.078411, 0.930809, 0.147602), (0.004733, 0.691367, 0.303900)),
}
PAIRS = [(kind, one, other) for kind in ("text", "graphic") for one, other in getattr(drawing_data().contrast, kind)]

each_palette = pytest.mark.parametrize(
    "palette", [load_palette(name) for name in palette_names()], ids=lambda p: p.name
)

DRAWING = (files("reedpath.page.drawing") / "drawing.toml").read_text(encoding="utf-8")


@each_palette
def test_each_role_is_inked_as_the_data_say(palette: Palette) -> None:
    for name, role in drawing_data().roles.items():
        style = palette.style(name)
        assert style.fill == (palette.inks[role.fill] if role.fill else None)
        assert style.stroke == (palette.inks[role.stroke] if role.stroke else None)


def test_the_formula_gives_the_published_extremes() -> None:
    # WCAG 2.2, definition of contrast ratio: from 1 to 21
    assert contrast_ratio("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast_ratio("#335577", "#335577") == pytest.approx(1.0)
    # the lightest grey that passes 4.5:1 on white is #767676, at 4.54:1 (from memory)
    assert contrast_ratio("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)
    assert contrast_ratio("#777777", "#ffffff") < 4.5


@each_palette
@pytest.mark.parametrize(("kind", "one", "other"), PAIRS)
def test_inks_that_meet_stand_apart(palette: Palette, kind: str, one: str, other: str) -> None:
    assert contrast_ratio(palette.inks[one], palette.inks[other]) >= LEAST[kind]


TEXTS = {role for role in drawing_data().roles if role.endswith("_text") or role == "comb_number"}


def grounds_of(role: str) -> tuple[str, ...]:
    """The inks that the text of a role is written on."""
    on = {
        "blow_text": ("blow",),
        "draw_text": ("draw_ground",),
        "spot_text": ("mark",),
        "comb_number": ("comb_hole",),
    }
    return on.get(role, ("ground",))


@each_palette
def test_all_text_is_held_to_its_ground(palette: Palette) -> None:
    for role, style in palette.styles.items():
        if role.endswith("_text") or role == "comb_number":
            assert style.fill is not None
            assert style.stroke is None
            for ground in grounds_of(role):
                assert contrast_ratio(style.fill, palette.inks[ground]) >= LEAST["text"], role


@each_palette
def test_every_stroke_can_be_seen_on_the_ground(palette: Palette) -> None:
    for role, style in palette.styles.items():
        if style.stroke and style.stroke != palette.inks["ground"] and not role.startswith("home_blow"):
            assert contrast_ratio(style.stroke, palette.inks["ground"]) >= LEAST["graphic"], role


# what only keeps other things apart, and tells nothing by itself
BACKINGS = {"ground", "shade", "aside", "take_ground", "take_note"}
# tenths of the edge of a shape along which it must stand out to be seen as what it is; ours
ENOUGH = 5


@pytest.fixture(scope="module")
def met() -> set[Meeting]:
    """What everything in all pictures of the gallery is drawn on."""
    return set().union(*(meetings(draw()) for draw in PICTURES.values()))


@pytest.mark.slow
@each_palette
def test_everything_in_every_picture_stands_out_from_what_it_is_drawn_on(met: set[Meeting], palette: Palette) -> None:
    """The marks too: a weight, a wedge or a tongue by its fill or by the stroke around it."""
    lost = {}
    for meeting in met:
        style = palette.style(meeting.role)
        least = LEAST["text" if meeting.role in TEXTS else "graphic"]
        found = 0
        for ground, tenths in meeting.grounds:
            inks = [ink for ink in (palette.inks[ground], style.stroke, style.fill) if ink]
            if max(contrast_ratio(one, other) for one, other in pairwise(inks)) >= least:
                found += tenths
        if found < ENOUGH and meeting.role not in BACKINGS:
            lost[meeting.role] = meeting.grounds
    assert lost == {}
    roles = {meeting.role for meeting in met}
    assert {"weight", "half_weight", "wedge", "accent", "tongue", "changed", "take_off", "home_draw", "used"} <= roles


def test_the_ground_of_a_picture_is_inked_like_everything_else_in_it() -> None:
    drawn = [etree.fromstring(draw().encode()) for draw in PICTURES.values()]
    assert {one.get("class") for root in drawn for one, *_ in inked(root)} <= set(drawing_data().roles)
    assert "rect.ground{fill:var(--ground);}" in format_inks().replace("path.ground,text.ground,", "")


def seen(colour: str, loss: str) -> str:
    """The colour as somebody with that loss sees it."""
    share = np.array([int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)])
    linear = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)
    lost = np.clip(np.array(LOSSES[loss]) @ linear, 0, 1)
    back = np.where(lost <= 0.0031308, lost * 12.92, 1.055 * lost ** (1 / 2.4) - 0.055)
    return "#" + "".join(f"{round(float(channel) * 255):02x}" for channel in back)


@each_palette
@pytest.mark.parametrize("loss", LOSSES)
def test_full_and_hollow_differ_in_lightness_for_every_eye(palette: Palette, loss: str) -> None:
    blow, hollow = seen(palette.inks["blow"], loss), seen(palette.inks["draw_ground"], loss)
    assert contrast_ratio(blow, hollow) >= LEAST["graphic"]
    assert contrast_ratio(seen(palette.inks["on_draw"], loss), hollow) >= LEAST["text"]
    assert contrast_ratio(seen(palette.inks["on_blow"], loss), blow) >= LEAST["text"]


def test_the_ink_palette_has_no_hue() -> None:
    for colour in load_palette("ink").inks.values():
        assert colour[1:3] == colour[3:5] == colour[5:7]


def test_palettes_hold_the_same_inks_and_no_role_is_dead() -> None:
    names = {frozenset(load_palette(name).inks) for name in palette_names()}
    assert len(names) == 1
    drawn = "\n".join(draw() for draw in PICTURES.values())
    # a take's own signs are drawn over a ribbon (take.svg), and have their picture there
    roles = {role for role in load_palette("paper").styles if not role.startswith("take_")} - {"ground"}
    assert {role for role in roles if f'class="{role}"' not in drawn} == set()


def test_a_wrong_palette_names_its_place() -> None:
    bar = 'bar = { stroke = "bar", width = 0.06 }'
    for old, new, message in (
        ('mark = "#1c1b19"', 'mark = "black"', r"drawing.toml, 'palettes.paper.mark': 'black' is not a colour"),
        (bar, 'bar = { fill = "gold" }', r"'roles.bar.fill': there is no ink named 'gold'"),
        (bar, 'bar = { stroke = "bar", width = -1 }', r"'roles.bar.width': -1 is too low: over 0"),
        (bar, 'bar = { stroke = "bar" }', r"'roles.bar': a stroke has an ink and a width, or neither"),
        (bar, 'bar = { filling = "bar" }', r"'roles.bar.filling': there is no such field"),
    ):
        with pytest.raises(SettingsError, match=message):
            parse_drawing(DRAWING.replace(old, new))
    with pytest.raises(SettingsError, match="there is no palette named 'neon'"):
        load_palette("neon")

"""Drawing: planes, strips, zones and whole frames."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from reedpath.film import lay_out_film
from reedpath.film.comb import comb_row
from reedpath.film.frames import FramePainter
from reedpath.film.ink import Ink, painted
from reedpath.film.planes import BT601, BT709, Frame, Plate, plain_planes, planes_of
from reedpath.film.screens import Zone, load_screen, screen_names
from reedpath.film.strips import TILE_PX, StripLook, ribbon_strip
from reedpath.harp import Alteration, Breath, Move
from reedpath.lesson import make_lesson
from reedpath.page import line, load_palette
from reedpath.phrase import BeatTimes
from reedpath.wording import load_catalogue
from support.built_routes import built_route
from support.examples import examples
from support.svg_contrast import contrast_ratio

pytestmark = pytest.mark.slow

LESSON = make_lesson(built_route("2d'':1/2! 2d 3d' 4b:1 r:1/2 4d:1/2^1 4d (4 5)d:1 [1 4]b:1 6bo 2d:2~ ", key="A"))
TIMELINE = lay_out_film(LESSON)
BEAT_TIMES = BeatTimes((0.0, 10.0), (1.0, 7.0))


def test_a_frame_is_three_planes_of_one_array() -> None:
    for width, height in ((1280, 720), (720, 1280), (852, 480), (6, 6), (10, 2)):
        frame = Frame(width, height)
        frame.array[:] = 0
        frame.light[:], frame.blue[:], frame.red[:] = 1, 2, 3
        assert frame.blue.shape == frame.red.shape == (height // 2, width // 2)
        values, counts = np.unique(frame.array, return_counts=True)
        assert dict(zip(values.tolist(), counts.tolist(), strict=True)) == {
            1: width * height,
            2: width * height // 4,
            3: width * height // 4,
        }


@pytest.mark.parametrize("coding", [BT601, BT709])
def test_grey_has_no_colour(coding: object) -> None:
    for grey, light in ((0, 16), (255, 235)):
        planes = planes_of(Image.new("RGB", (4, 4), (grey, grey, grey)), coding)  # type: ignore[arg-type]
        assert set(planes.light.ravel()) == {light}
        assert set(planes.blue.ravel()) == set(planes.red.ravel()) == {128}


# --------------------------------------------------------------------------------------------------- the strip


def _strip(px_per_second: float = 240.0) -> object:
    look = StripLook(load_palette("night"), "sign", 300, 40.0, px_per_second)
    return ribbon_strip(LESSON.route, (), BEAT_TIMES, look, counts=[(1, -1.0), (2, 0.0)])


STRIP = _strip()


@examples(25)
@given(st.integers(-600, 2600), st.integers(1, 600))
def test_any_cut_of_the_strip_is_the_strip(x: int, half_width: int) -> None:
    """Cut in one piece and cut in two, at even and odd places, within tiles and over their borders."""
    width = 2 * half_width
    whole, parts = Frame(width, 300), Frame(width, 300)
    STRIP.put(whole, x, left=0, top=0, width=width)  # type: ignore[attr-defined]
    first = 2 * (half_width // 2)
    if first:
        STRIP.put(parts, x, left=0, top=0, width=first)  # type: ignore[attr-defined]
    STRIP.put(parts, x + first, left=first, top=0, width=width - first)  # type: ignore[attr-defined]
    assert np.array_equal(whole.light, parts.light)
    shifted = Frame(width, 300)
    STRIP.put(shifted, x + 1, left=0, top=0, width=width)  # type: ignore[attr-defined]
    assert np.array_equal(whole.light[:, 1:], shifted.light[:, :-1])


def test_tiles_meet_without_a_seam() -> None:
    wide = Frame(256, 300)
    STRIP.put(wide, TILE_PX - 128, left=0, top=0, width=256)  # type: ignore[attr-defined]
    strip = STRIP
    picture = painted(
        strip._shapes,  # type: ignore[attr-defined]
        strip.ink,  # type: ignore[attr-defined]
        width=256,
        height=300,
        left_px=TILE_PX - 128 + strip.system.frame.left * strip.ink.row_px,  # type: ignore[attr-defined]
        top_px=-strip.top_px,  # type: ignore[attr-defined]
    )
    alone = planes_of(picture)
    apart = np.abs(wide.light.astype(int) - alone.light.astype(int))
    assert apart.mean() < 0.5
    assert (apart > 40).mean() < 0.002


def test_what_is_past_is_fainter() -> None:
    bright, past = Frame(400, 300), Frame(400, 300)
    STRIP.put(bright, 300, left=0, top=0, width=400)  # type: ignore[attr-defined]
    STRIP.put(past, 300, left=0, top=0, width=400, past=True)  # type: ignore[attr-defined]
    ground = int(plain_planes("#14171a").light[0, 0])
    assert past.light.max() - ground == pytest.approx(0.42 * (bright.light.max() - ground), abs=2)
    assert past.light.min() >= bright.light.min()


def test_a_note_meets_the_line_when_it_begins() -> None:
    """The light left and right of a note's place in the strip differs where the strip of the note begins."""
    frame = Frame(60, 300)
    one = LESSON.route.events[3]  # 4 blow, full and bright
    seconds = BEAT_TIMES.seconds_at(one.event.onset)
    x = STRIP.x_of(seconds)  # type: ignore[attr-defined]
    STRIP.put(frame, x - 30, left=0, top=0, width=60)  # type: ignore[attr-defined]
    y = round(STRIP.system.frame.y_of(4) * STRIP.ink.row_px + STRIP.top_px)  # type: ignore[attr-defined]
    row = frame.light[y - 8].astype(int)
    begins = int(np.argmax(row > 120)) - 30
    assert 0 <= begins <= 10  # the rounded end and the air before it


def test_dashes_and_corners() -> None:
    ink = Ink(load_palette("ink"), 40.0)
    dashed = np.asarray(painted([line("beat", (1, 0), (1, 4))], ink, width=80, height=160).convert("L"))
    column = dashed[:, 38:43].min(axis=1) < 200
    assert 10 < np.count_nonzero(np.diff(column.astype(int))) < 60
    solid = np.asarray(painted([line("bar", (1, 0), (1, 4))], ink, width=80, height=160).convert("L"))
    assert (solid[:, 38:43].min(axis=1) < 200).all()


# -------------------------------------------------------------------------------------------------- lit holes


def _harp(move: Move | None, palette: str) -> np.ndarray:
    shapes = comb_row(10, move, width=10.6, height=2.0)
    return np.asarray(painted(shapes, Ink(load_palette(palette), 40.0), width=424, height=80).convert("L")).astype(
        int
    )


@pytest.mark.parametrize("palette", ["night", "paper", "ink"])
def test_lit_holes_are_told_apart_without_colour(palette: str) -> None:
    moves = [
        None,
        Move((4,), Breath.BLOW),
        Move((4,), Breath.DRAW),
        Move((4,), Breath.DRAW, Alteration.BEND, -1),
        Move((4,), Breath.BLOW, Alteration.OVERBLOW, 3),
        Move((3, 4), Breath.BLOW),
    ]
    pictures = [_harp(move, palette) for move in moves]
    for index, one in enumerate(pictures):
        for other in pictures[index + 1 :]:
            assert np.count_nonzero(np.abs(one - other) > 60) > 30
    # blow is full and draw is hollow: the middle of the hole, beside its number, has the ink or the ground
    x, y = round(3.8 * 40) - 13, 40
    dark, blown, drawn = (picture[y - 8 : y + 8, x - 2 : x + 2].mean() for picture in pictures[:3])
    assert abs(blown - drawn) > 60
    assert abs(blown - dark) > 60


# ----------------------------------------------------------------------------------------------- whole frames


def _painter(screen: str = "landscape") -> FramePainter:
    return FramePainter(LESSON, TIMELINE, load_screen(screen), load_catalogue("fr"))


def test_a_frame_does_not_depend_on_those_before() -> None:
    random = np.random.default_rng(20)
    moments = random.uniform(0, TIMELINE.seconds, 12)
    alone = [_painter("upright").draw(moment).copy() for moment in moments]
    painter = _painter("upright")
    for place in random.integers(0, len(moments), 60):
        assert np.array_equal(painter.draw(moments[place]), alone[place]), moments[place]


@pytest.mark.parametrize(
    "screen", ["landscape", "upright", "beside-landscape", "beside-upright", "beside-tall", "beside-upright-tall"]
)
def test_nothing_is_drawn_outside_the_zones(screen: str) -> None:
    painter = _painter(screen)
    shown = load_screen(screen)
    ground = plain_planes(painter.look.palette.inks["ground"])
    light = painter.draw(TIMELINE.scenes[1].highlights[2].start_seconds + 0.05)[: shown.height].copy()
    for zone in (shown.head, shown.ribbon, shown.now, shown.harp, shown.caption):
        if zone is not None:
            light[zone.top : zone.bottom, zone.left : zone.right] = ground.light[0, 0]
    assert set(light.ravel()) == {ground.light[0, 0]}


def test_the_ribbon_glides_by_whole_pixels_evenly() -> None:
    painter = _painter()
    scene = TIMELINE.scenes[-1]
    painter.draw(scene.start_seconds + 0.1)
    strip = painter._strip_of(scene)
    places = [strip.x_of(scene.glide.at(scene.start_seconds + (number + 0.5) / 30)) for number in range(60)]
    assert len(set(np.diff(places))) == 1


def test_the_strip_shows_enough_of_what_comes() -> None:
    for screen in ("landscape", "upright"):
        painter = _painter(screen)
        for scene in TIMELINE.scenes:
            look = painter._strip_look(scene)
            shown = load_screen(screen)
            ahead = (shown.ribbon.width - shown.comb_at) / look.px_per_second
            assert ahead > shown.ahead_seconds - 0.4


# ---------------------------------------------------------------------------------------------------- the plate


def test_text_on_the_plate_can_be_read_over_a_white_picture() -> None:
    """4.5:1, WCAG 2.2, success criterion 1.4.3, for text over what shows through of white."""
    from reedpath.film.planes import PLATE_OPACITY

    for name in ("night", "paper", "ink"):
        inks = load_palette(name).inks
        ground = inks["ground"]
        for behind in ("#ffffff", "#000000"):
            mixed = [
                round(
                    PLATE_OPACITY * int(ground[place : place + 2], 16)
                    + (1 - PLATE_OPACITY) * int(behind[place : place + 2], 16)
                )
                for place in (1, 3, 5)
            ]
            shown = "#" + "".join(f"{value:02x}" for value in mixed)
            assert contrast_ratio(inks["text"], shown) >= 4.5, (name, behind)


def test_the_plate_lets_the_picture_through_and_ink_does_not() -> None:
    drawn, picture = Frame(8, 8), Frame(8, 8)
    drawn.fill(plain_planes("#14171a"))
    drawn.light[6, 2] = 200
    picture.array[:] = 180
    Plate(Zone(0, 4, 8, 8), "#14171a", BT709).lay(drawn, picture)
    assert set(picture.light[:4].ravel()) == {180}
    ground = int(drawn.light[0, 0])
    assert picture.light[5, 5] == pytest.approx(ground + 0.2 * (180 - ground), abs=1)
    # colour is the ink's own where any of its four pixels is inked, and half seen through elsewhere
    assert picture.blue[3, 1] == drawn.blue[3, 1]
    assert picture.blue[2, 1] == pytest.approx(drawn.blue[0, 0] + 0.2 * (180.0 - drawn.blue[0, 0]), abs=1)
    assert picture.light[6, 2] == 200
    opacity = Plate(Zone(0, 4, 8, 8), "#14171a", BT709).opacity(drawn)
    assert opacity.shape == (4, 8)
    assert opacity[2, 2] == 255
    assert np.count_nonzero(opacity == 204) == opacity.size - 1


def test_nothing_of_a_badge_is_cut() -> None:
    """No ink touches the edges of the room that the sounding move has."""
    from reedpath.arrange import Choice
    from reedpath.film.zones import BADGE_ROWS, _badge_picture

    bent = Move((3,), Breath.DRAW, Alteration.BEND, -3)
    choices = [
        Choice(bent),
        Choice(Move((4,), Breath.DRAW), attack_semitones=-2.0),
        Choice(Move((4,), Breath.DRAW), fall_semitones=-1.0),
        Choice(bent, attack_semitones=-1.0),
        Choice(Move((6,), Breath.BLOW, Alteration.OVERBLOW, 3)),
        Choice(Move((1, 2, 3), Breath.BLOW)),
    ]
    for choice in choices:
        picture = np.asarray(_badge_picture(choice, "-3'''", 106.0, round(106 * BADGE_ROWS), "ink").convert("L"))
        assert picture[0].min() > 240
        assert picture[-1].min() > 240
        assert picture[:, 0].min() > 240
        assert picture[:, -1].min() > 240


@pytest.mark.parametrize("name", screen_names())
def test_nothing_of_the_words_is_cut(name: str) -> None:
    """The words of the sounding move, however long, keep off the edges of their zone."""
    from reedpath.arrange import Choice
    from reedpath.film.zones import Badge, HeadText, Look, NowText, head_picture, now_picture

    look = Look(load_screen(name), load_palette("ink"))
    badge = Badge(Choice(Move((4,), Breath.DRAW)), "-4", "")
    for words in (
        "4 aspiré",
        "2 aspiré, altéré d'un ton et demi, attaqué altéré, relâché, descendu à la fin, vibrato",
    ):
        now = replace(badge, words=words)
        picture = np.asarray(now_picture(NowText(now, False, (badge,)), look).convert("L"))
        assert picture[-1].min() > 240
        assert picture[round(look.screen.now_row) :, -1].min() > 240
        assert (picture[round(look.screen.now_row) :] < 120).sum() > 100
    long = HeadText("The turnaround into the second verse, jy, once more and then again from the sign on", "slow")
    picture = np.asarray(head_picture(long, look).convert("L"))
    assert picture[-1].min() > 240
    assert picture[0].min() > 240
    assert picture[:, -1].min() > 200


@pytest.mark.parametrize(("left", "top"), [(4, 2), (0, 0), (8, 4), (2, 4)])
def test_a_plate_anywhere_covers_its_zone_alone_in_light_and_in_colour(left: int, top: int) -> None:
    """Eight by four pixels; what is inked is four by two of them, in the middle."""
    ground, ink, white = (plain_planes(colour) for colour in ("#102030", "#ff2000", "#ffffff"))
    drawn, under = Frame(16, 8), Frame(16, 8)
    drawn.fill(ground)
    under.fill(white)
    for across in (2, 4):
        drawn.put(ink, left + across, top + 2)
    plate = Plate(Zone(left, top, left + 8, top + 4), "#102030", BT709)
    plate.lay(drawn, under)
    for plane, size, at in (("light", 1, 0), ("blue", 2, 1), ("red", 2, 2)):
        found = getattr(under, plane).astype(int)
        was, covered, inked = (int(getattr(one, plane)[0, 0]) for one in (white, ground, ink))
        expected = np.full(found.shape, was)
        rows, columns = slice(top // size, (top + 4) // size), slice(left // size, (left + 8) // size)
        expected[rows, columns] = round(0.8 * covered + 0.2 * was)
        expected[(top + 2) // size : (top + 4) // size, (left + 2) // size : (left + 6) // size] = inked
        assert np.abs(found - expected).max() <= 1, at
    opacity = plate.opacity(drawn)
    assert opacity.shape == (4, 8)
    assert {int(one) for one in opacity[2:, 2:6].flat} == {255}
    assert {int(one) for one in opacity[:2].flat} == {204}

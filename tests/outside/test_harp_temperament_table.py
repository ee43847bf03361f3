"""Temperaments against published cents and ratios, and Scala files that nobody here wrote.

Just schemes: Ö. Hansson, ji_hca01, 23, 02 and 03 .scl, 2004, http://ohw.se/hca, and its tuning02.php after
P. Missin, 1996. Reference pitch and stretch: the same author. The Scala files are those that music21 installs.
"""

import re
from pathlib import Path

import pytest

from reedpath.errors import TuningError
from reedpath.harp import Breath, Move, load_temperament, make_harp, parse_scl, reed_hz, sound_of, temperament_names

pytestmark = pytest.mark.outside

# holes of each column of the published table
COLUMNS = [
    (Breath.BLOW, (1, 4, 7, 10)),
    (Breath.BLOW, (2, 5, 8)),
    (Breath.BLOW, (3, 6, 9)),
    (Breath.DRAW, (1, 4, 8)),
    (Breath.DRAW, (2,)),
    (Breath.DRAW, (3, 7)),
    (Breath.DRAW, (5, 9)),
    (Breath.DRAW, (6, 10)),
]
# whole cents as published
TABLE = {
    "equal": [0, 0, 0, 0, 0, 0, 0, 0],
    "5-limit-first": [0, -14, 2, 4, 2, -12, -2, -16],
    "5-limit-second-third": [0, -14, 2, 4, 2, -12, -2, 6],
    "7-limit-second": [0, -14, 2, 4, 2, -12, -29, 6],
    "5-limit-third-minor": [0, -14, 2, 4, 2, -12, 20, 6],
    "19-limit-second-third": [0, -14, 2, 4, 2, -12, 1, 6],
}
# exact cents of the ratios, to a hundredth
EXACT = {
    ("5-limit-first", 2): 3.91,  # 9/8
    ("5-limit-first", 4): -13.69,  # 5/4
    ("5-limit-first", 7): 1.96,  # 3/2
    ("5-limit-first", 11): -11.73,  # 15/8
    ("5-limit-first", 5): -1.96,  # 4/3
    ("5-limit-first", 9): -15.64,  # 5/3
    ("5-limit-second-third", 9): 5.87,  # 27/16
    ("7-limit-second", 5): -29.22,  # 21/16
    ("5-limit-third-minor", 5): 19.55,  # 27/20
    ("19-limit-second-third", 5): 1.42,  # 171/128
}


def test_every_shipped_temperament_is_checked():
    assert set(TABLE) == set(temperament_names())


@pytest.mark.parametrize("name", TABLE)
@pytest.mark.parametrize("key", ["C", "A", "Low F"])
def test_cents_of_every_reed(name, key):
    harp = make_harp(key, temperament=name)
    for (breath, holes), cents in zip(COLUMNS, TABLE[name], strict=True):
        for hole in holes:
            assert round(sound_of(harp, Move((hole,), breath)).cents[0]) == cents


@pytest.mark.parametrize(("name", "step"), EXACT)
def test_exact_cents(name, step):
    assert load_temperament(name).cents[step] == pytest.approx(EXACT[name, step], abs=0.005)


def test_the_disputed_notes_stand_as_published():
    # P. Missin, 2004, patmissin.com/tunings/audio.html: draw 5 and 9 well flat in the 7-limit scheme, almost equal in
    # the 19-limit one, sharp in his 5-limit one
    flat, near, sharp = (
        load_temperament(name).cents[5] for name in ("7-limit-second", "19-limit-second-third", "5-limit-third-minor")
    )
    assert flat < -25 < -2 < near < 2 < 15 < sharp


# Reference pitches: 1200 log2(A4 / 440)
@pytest.mark.parametrize(("a4_hz", "cents"), [(441, 3.93), (442, 7.85), (443, 11.76), (444, 15.67)])
def test_reference_pitch(a4_hz, cents):
    harp = make_harp("C", a4_hz=a4_hz)
    assert sound_of(harp, Move((1,), Breath.BLOW)).cents[0] == pytest.approx(cents, abs=0.005)


def test_middle_c_at_443():
    assert reed_hz(make_harp("C", a4_hz=443), 1, Breath.BLOW) == pytest.approx(263.41, abs=0.005)


# Beats: upper partials that nearly meet, derived from the ratios
@pytest.mark.parametrize(("holes", "beats_hz"), [((1, 2), 10.4), ((4, 5), 20.8)])
def test_an_equal_third_beats_and_a_pure_one_does_not(holes, beats_hz):
    for name, expected in (("equal", beats_hz), ("5-limit-first", 0.0)):
        low, high = (reed_hz(make_harp("C", temperament=name), hole, Breath.BLOW) for hole in holes)
        assert abs(5 * low - 4 * high) == pytest.approx(expected, abs=0.05)


@pytest.mark.parametrize(
    ("holes", "breath", "hz_per_cent"), [((1, 4), "blow", 0.30), ((1, 4), "draw", 0.34), ((4, 7), "blow", 0.60)]
)
def test_an_octave_beats_with_its_stretch(holes, breath, hz_per_cent):
    # derived: about 0.000578 x cents x upper hertz
    harp = make_harp("C", stretch_cents=1.0)
    low, high = (reed_hz(harp, hole, Breath(breath)) for hole in holes)
    assert abs(high - 2 * low) == pytest.approx(hz_per_cent, abs=0.01)
    assert abs(high - 2 * low) == pytest.approx(0.000578 * high, rel=0.01)


def scala_files():
    import music21.scale.scala as archive

    return sorted((Path(archive.__file__).parent / "scl").glob("*.scl"))


def test_scala_files_of_the_archive_read_as_another_reader_reads_them():
    # music21's own reader of the files that it installs is the judge of cents; it stumbles over remarks behind a
    # pitch, which the format allows, so files with such remarks are only read
    from music21.scale.scala import ScalaData

    compared, refused = 0, 0
    for path in scala_files():
        text = path.read_text(encoding="latin-1")
        try:
            temperament = parse_scl(text, name=path.stem)
        except TuningError as error:
            assert error.where.line  # noqa: PT017 - a refusal names its place
            refused += 1
            continue
        data = ScalaData(text)
        remarks = [line for line in text.splitlines() if re.match(r"\s*[0-9./]+\s+(?!cents)\S", line)]
        if remarks:
            continue
        data.parse()
        if data.pitchCount == 12:
            judged = [cents - 100 * step for step, cents in enumerate(data.getCentsAboveTonic()[:11], start=1)]
            assert temperament.cents[1:] == pytest.approx(judged, abs=1e-3), path.name
            compared += 1
    # of 3,932 files in music21 9: most of those refused have more than twelve notes, or no octave
    assert compared > 600
    assert refused < 2500


@pytest.mark.parametrize(
    ("name", "third", "fifth"), [("meanquar.scl", -13.686, -3.422), ("pyth_12.scl", 7.820, 1.955)]
)
def test_two_temperaments_of_the_textbooks(name, third, fifth):
    # quarter-comma meantone: pure thirds, fifths narrow by a quarter of 21.506 cents; Pythagorean: pure fifths
    path = next(path for path in scala_files() if path.name == name)
    cents = parse_scl(path.read_text(encoding="latin-1")).cents
    assert (cents[4], cents[7]) == pytest.approx((third, fifth), abs=0.01)

"""What each reed is to be tuned to."""

from __future__ import annotations

import pytest

from reedpath.harp import Breath, harp_as_data, load_tuning, make_harp, reed_hz, reed_targets, tuning_names


@pytest.mark.parametrize("tuning", tuning_names())
@pytest.mark.parametrize("a4_hz", [440.0, 443.0])
def test_cents_and_hertz_say_the_same(tuning: str, a4_hz: float) -> None:
    harp = make_harp("A", tuning, temperament="7-limit-second", a4_hz=a4_hz, stretch_cents=2.0)
    for one in reed_targets(harp):
        # the definition of the cent, and of equal temperament from the reference pitch
        assert one.hz == pytest.approx(a4_hz * 2 ** ((one.midi - 69 + one.cents / 100) / 12))
        assert one.hz == reed_hz(harp, one.hole, one.breath)


def test_the_blow_plate_comes_first() -> None:
    order = [(one.breath, one.hole) for one in reed_targets(make_harp("C"))]
    assert order == [(breath, hole) for breath in (Breath.BLOW, Breath.DRAW) for hole in range(1, 11)]


def test_what_differs_from_the_standard_tuning_is_told() -> None:
    assert {one.from_standard for one in reed_targets(make_harp("G"))} == {0}
    minor = [one for one in reed_targets(make_harp("C", "natural-minor-first")) if one.from_standard]
    # blow 2, 5, 8 and draw 3, 6, 7, 10 lowered a semitone: a public question-and-answer page (docs/instrument.md)
    assert [(one.breath.value, one.hole, one.from_standard) for one in minor] == [
        *(("blow", hole, -1) for hole in (2, 5, 8)),
        *(("draw", hole, -1) for hole in (3, 6, 7, 10)),
    ]


def test_holes_that_the_standard_has_not_are_not_compared() -> None:
    standard = load_tuning("standard")
    longer = type(standard)("long", "long", (*standard.blow, 40), (*standard.draw, 38))
    assert [one.from_standard for one in reed_targets(make_harp("C", longer)) if one.hole == 11] == [None, None]


def test_they_are_data_too() -> None:
    reeds = harp_as_data(make_harp("C"))["reeds"]
    # C4 at A4 = 440 Hz: 261.63 Hz (Wikipedia, "Scientific pitch notation")
    assert reeds[0] == {"hole": 1, "breath": "blow", "midi": 60, "cents": 0.0, "hz": 261.63, "from_standard": 0}
    assert len(reeds) == 20

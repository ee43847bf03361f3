"""What a route asks of a player."""

from __future__ import annotations

import pytest

from reedpath.lesson import Technique, techniques_of, techniques_words
from reedpath.wording import load_catalogue
from support.built_routes import built_route

EN = load_catalogue("en")


@pytest.mark.parametrize(
    ("tab", "wanted"),
    [
        ("2d 3d 4b", []),
        ("2d 3d' 3d'' 4b", [(Technique.DRAW_BENDS, (1, 2))]),
        ("8b' 10b''", [(Technique.BLOW_BENDS, (0, 1))]),
        ("6bo 7do 2d'", [(Technique.OVERDRAWS, (1,)), (Technique.OVERBLOWS, (0,)), (Technique.DRAW_BENDS, (2,))]),
        ("[2 5]d (1 2 3)d", [(Technique.SPLITS, (0,)), (Technique.CHORDS, (1,))]),
        ("2d:1~ 4b:1/2g 4d", [(Technique.VIBRATO, (0,)), (Technique.GRACES, (1,))]),
        ("4d:1^1 4d:1_1 4d", [(Technique.DRAW_BENDS, (0, 1))]),
    ],
)
def test_techniques_are_found_rarest_first(tab: str, wanted: list[tuple[Technique, tuple[int, ...]]]) -> None:
    assert [(one.technique, one.events) for one in techniques_of(built_route(tab))] == wanted


def test_the_hardest_move_is_named() -> None:
    assert techniques_words(built_route("3d' 3d'' 3d' 6bo"), EN) == (
        "overblows (6 overblow)",
        "draw bends (3 draw whole-step)",
    )
    assert techniques_words(built_route("2d 3d"), EN) == ()
    assert techniques_words(built_route("(1 2 3)d"), load_catalogue("fr")) == ("accords",)

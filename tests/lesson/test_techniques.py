"""What a route asks of a player."""

from __future__ import annotations

import pytest

from reedpath.lesson import PlayingTechnique, techniques_of, techniques_words
from reedpath.wording import load_catalogue
from support.built_routes import built_route

EN = load_catalogue("en")


@pytest.mark.parametrize(
    ("tab", "wanted"),
    [
        ("2d 3d 4b", []),
        ("2d 3d' 3d'' 4b", [(PlayingTechnique.DRAW_BENDS, (1, 2))]),
        ("8b' 10b''", [(PlayingTechnique.BLOW_BENDS, (0, 1))]),
        (
            "6bo 7do 2d'",
            [
                (PlayingTechnique.OVERDRAWS, (1,)),
                (PlayingTechnique.OVERBLOWS, (0,)),
                (PlayingTechnique.DRAW_BENDS, (2,)),
            ],
        ),
        ("[2 5]d (1 2 3)d", [(PlayingTechnique.SPLITS, (0,)), (PlayingTechnique.CHORDS, (1,))]),
        ("2d:1~ 4b:1/2g 4d", [(PlayingTechnique.VIBRATO, (0,)), (PlayingTechnique.GRACES, (1,))]),
        ("4d:1^1 4d:1_1 4d", [(PlayingTechnique.DRAW_BENDS, (0, 1))]),
    ],
)
def test_techniques_are_found_rarest_first(tab: str, wanted: list[tuple[PlayingTechnique, tuple[int, ...]]]) -> None:
    assert [(one.technique, one.events) for one in techniques_of(built_route(tab))] == wanted


def test_the_hardest_move_is_named() -> None:
    assert techniques_words(built_route("3d' 3d'' 3d' 6bo"), EN) == (
        "overblows (6 overblow)",
        "draw bends (3 draw whole-step bend)",
    )
    assert techniques_words(built_route("2d 3d"), EN) == ()
    assert techniques_words(built_route("(1 2 3)d"), load_catalogue("fr")) == ("accords",)

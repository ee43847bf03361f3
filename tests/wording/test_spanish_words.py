"""Spanish: articles and numbers of holes, which are feminine; "y" and "o" before their own sound."""

from __future__ import annotations

from typing import Literal

import pytest

from reedpath.harp import Alteration, Breath, Embouchure, Move
from reedpath.wording import load_catalogue, move_in_sentence

ES = load_catalogue("es")
BENT = Move((3,), Breath.DRAW, Alteration.BEND, -2)
CHORD = Move((1, 2, 3), Breath.BLOW)
SPLIT = Move((1, 4), Breath.DRAW, embouchure=Embouchure.TONGUE)


@pytest.mark.parametrize(
    ("move", "place", "said"),
    [
        (Move((4,), Breath.BLOW), "from", "de la 4 soplada"),
        (BENT, "to", "a la 3 aspirada con bend de un tono"),
        (CHORD, "the", "las celdas 1, 2 y 3 sopladas"),
        (CHORD, "from", "de las celdas 1, 2 y 3 sopladas"),
        (SPLIT, "to", "a las celdas 1 y 4 aspiradas en split"),
    ],
)
def test_holes_have_their_article(move: Move, place: Literal["the", "from", "to"], said: str) -> None:
    assert move_in_sentence(move, ES, place) == said


@pytest.mark.parametrize(
    ("things", "link", "said"),
    [
        (["7", "8"], "or", "7 u 8"), (["8", "7"], "or", "8 o 7"), (["10", "11"], "or", "10 u 11"),
        (["1", "110"], "or", "1 o 110"), (["uno", "otro"], "or", "uno u otro"),
        (["Ana", "Inés"], "and", "Ana e Inés"),
        (["agua", "hielo"], "and", "agua y hielo"), (["re", "mi", "la"], "and", "re, mi y la"),
    ],
)  # fmt: skip
def test_and_and_or_give_way_to_their_own_sound(things: list[str], link: str, said: str) -> None:
    assert ES.join(things, link=link) == said

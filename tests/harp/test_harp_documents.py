"""docs/instrument.md names everything that ships, and shows it as the program writes it."""

from pathlib import Path

import pytest

from reedpath.harp import (
    format_move,
    load_temperament,
    notation_names,
    parse_move,
    temperament_names,
    tuning_names,
)

DOCUMENT = (Path(__file__).parents[2] / "docs" / "instrument.md").read_text(encoding="utf-8")


def row_of(name):
    (row,) = (line for line in DOCUMENT.splitlines() if line.startswith(f"| `{name}` |"))
    return [cell.strip() for cell in row.strip("|").split("|")]


@pytest.mark.parametrize("name", [*tuning_names(), *temperament_names(), *notation_names()])
def test_everything_that_ships_has_its_row(name):
    assert row_of(name)


@pytest.mark.parametrize("name", notation_names())
def test_the_table_of_notations_is_what_the_program_writes(name):
    moves = [parse_move(text) for text in ("+4", "-4", "-4'", "-3'''", "-5½'", "+6o", "-7o", "-(1 2 3)", "-1/4")]
    assert row_of(name)[1:] == [f"`{format_move(move, name)}`" for move in moves]


@pytest.mark.parametrize("name", temperament_names())
def test_the_table_of_temperaments_is_what_the_program_tunes(name):
    shown = [cell.split()[0].replace("−", "-") for cell in row_of(name)[1:]]
    steps = (0, 4, 7, 2, 7, 11, 5, 9)
    assert [int(cell) for cell in shown] == [round(load_temperament(name).cents[step]) for step in steps]

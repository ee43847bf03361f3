"""Showing a harp on the terminal."""

from __future__ import annotations

from reedpath.cli.printing import catalogue_for, print_data, print_line, print_table
from reedpath.harp import (
    Alteration,
    ChartRow,
    Harp,
    Move,
    format_move,
    harp_as_data,
    harp_chart,
    load_notation,
    missing_degrees,
    positions,
    reed_targets,
)
from reedpath.jobs import HarpChoice, one_harp
from reedpath.pitch import Key
from reedpath.wording import (
    Catalogue,
    harp_words,
    key_words,
    move_words,
    position_words,
    shift_words,
    temperament_words,
)


def _row_title(row: ChartRow, catalogue: Catalogue) -> str:
    if row.alteration is Alteration.NATURAL:
        return catalogue.say(f"breath.{row.breath.value}")
    if row.alteration.is_overbend:
        return catalogue.say(f"alteration.{row.alteration.value}")
    title = catalogue.say(f"alteration.{row.breath.value}_bend")
    return f"{title}, {catalogue.say('depth.adjective', count=row.depth_semitones)}"


def _chart(harp: Harp, catalogue: Catalogue) -> list[list[str]]:
    rows = []
    for row in harp_chart(harp).rows:
        names = [
            "" if cell is None else cell.name if not cell.move.is_dip else f"({cell.name})" for cell in row.cells
        ]
        rows.append([_row_title(row, catalogue), *names])
    middle = next(i for i, row in enumerate(harp_chart(harp).rows) if row.breath == "draw")
    rows.insert(middle, ["", *(str(hole) for hole in range(1, harp.tuning.holes + 1))])
    return rows


def _position_rows(harp: Harp, notation: str, catalogue: Catalogue) -> list[list[str]]:
    rows = []
    for one in positions(harp):
        lacking = []
        for degree in missing_degrees(harp.tuning, one.number):
            helps = [format_move(move, notation) for move in (*degree.bends, *degree.overbends)]
            name = catalogue.note(one.tonic + degree.step, tonic=one.tonic)
            lacking.append(f"{name} ({', '.join(helps)})" if helps else name)
        lacks = (
            catalogue.say("harp.lacks", notes=catalogue.join(lacking))
            if lacking
            else catalogue.say("harp.lacks_none")
        )
        rows.append([position_words(one.number, catalogue), key_words(Key(one.tonic), catalogue), lacks])
    return rows


def _change_words(semitones: int | None, catalogue: Catalogue) -> str:
    return "" if not semitones else shift_words(semitones, catalogue)


def _reed_rows(harp: Harp, catalogue: Catalogue) -> list[list[str]]:
    """What each reed is to be tuned to, under a heading."""
    rows = [[catalogue.say(f"reeds.{name}") for name in ("reed", "note", "cents", "hertz", "change")]]
    for one in reed_targets(harp):
        rows.append(
            [
                move_words(Move((one.hole,), one.breath), catalogue),
                catalogue.note(one.midi, tonic=harp.key_midi),
                catalogue.number(one.cents, decimals=1),
                catalogue.number(one.hz, decimals=2),
                _change_words(one.from_standard, catalogue),
            ]
        )
    return rows


def show_harp(
    choice: HarpChoice, *, positions: bool, reeds: bool, notation: str, language: str | None, json: bool
) -> None:
    """Print a harp as a person likes to see it, or as data."""
    harp = one_harp(choice, key="C" if choice.key is None else choice.key)
    load_notation(notation)  # a name that means nothing is told, needed or not
    if json:
        print_data(harp_as_data(harp))
        return
    catalogue = catalogue_for(language)
    print_line(catalogue.sentence(harp_words(harp, catalogue, with_tuning=True)).rstrip("."))
    if any(harp.temperament.cents):
        print_line(temperament_words(harp.temperament, catalogue))
    print_line()
    print_table(_chart(harp, catalogue), right=range(1, harp.tuning.holes + 1))
    if positions:
        print_line()
        print_table(_position_rows(harp, notation, catalogue))
    if reeds:
        print_line()
        print_line(catalogue.say("reeds.tuner", hz=catalogue.number(harp.a4_hz)))
        print_table(_reed_rows(harp, catalogue), right=(2, 3))
        print_line(catalogue.say("caution.reeds"))

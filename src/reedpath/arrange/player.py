"""Players and weights: what a level allows, and what is hard, read from data files."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType
from typing import Annotated, Any

from msgspec import Meta, Struct

from reedpath.additions import added_names, added_text
from reedpath.data import extended, from_tables, read_toml, replace, shipped_text
from reedpath.errors import Place, SettingsError


class Player(Struct, frozen=True):
    """What a player can do.

    level : name of the level.
    draw_bends, blow_bends : depths in semitones that may be used.
    overblows, overdraws, splits, chords : whether the technique may be used.
    move_factor : how much every move weighs, 1 for a steady player.
    time_factor : how long every change takes, 1 for a steady player.
    spot_points : effort of one event from which a stretch is worth practising apart.
    rush_points : points that speed alone may add to one event before it is rushed.
    """

    level: str
    draw_bends: tuple[int, ...]
    blow_bends: tuple[int, ...]
    overblows: bool
    overdraws: bool
    splits: bool
    chords: bool
    move_factor: float = 1.0
    time_factor: float = 1.0
    spot_points: float = 2.8
    rush_points: float = 0.8

    def allowing(self, **switches: Any) -> Player:
        """The same player with some techniques switched; values of None leave a switch as it is."""
        return replace(self, **{name: value for name, value in switches.items() if value is not None})


Share = Annotated[float, Meta(ge=0, le=1)]
# points, seconds, litres, shares and the like, as weights.toml says beside each
Weight = Annotated[float, Meta(ge=0, lt=1e6)]


class MoveWeights(Struct, frozen=True, forbid_unknown_fields=True):
    """Points of a move by itself."""

    natural: Weight
    no_bend_below: Weight
    dip: Weight
    draw_bend: dict[str, tuple[Weight, ...]]
    blow_bend_factor: Weight
    bend_register: Weight
    easiest_bend_semitones: Weight
    deepest_known_gap: Annotated[int, Meta(ge=1, le=100)]
    overblow: Weight
    overdraw: Weight
    overbend_register: Weight
    easiest_overblow_semitones: Weight
    easiest_overdraw_semitones: Weight
    chord: Weight
    split: Weight
    tongue_single: Weight
    settle_seconds: Weight


class BreathWeights(Struct, frozen=True, forbid_unknown_fields=True):
    """A turn of the breath."""

    seconds: Weight
    points: Weight


class TravelWeights(Struct, frozen=True, forbid_unknown_fields=True):
    """The mouth's way along the harp."""

    seconds_per_bit: Weight
    points: Weight


class ColdBendWeights(Struct, frozen=True, forbid_unknown_fields=True):
    """A bend that is struck cold."""

    share: Weight
    warm_gap_seconds: Weight


class OverbendAttackWeights(Struct, frozen=True, forbid_unknown_fields=True):
    """An overblow or overdraw that is struck."""

    after_turn: Weight
    per_hole: Weight


class EmbouchureWeights(Struct, frozen=True, forbid_unknown_fields=True):
    """Bringing the tongue to the harp or away."""

    seconds: Weight
    points: Weight


class OrnamentWeights(Struct, frozen=True, forbid_unknown_fields=True):
    """What is done on a note."""

    run_note_seconds: Weight
    run_note: Weight
    press: Weight


class ExpressionWeights(Struct, frozen=True, forbid_unknown_fields=True):
    """What it is worth to have a note on a reed that can be bent, shaken and scooped."""

    from_seconds: Weight
    per_second: Weight
    most_seconds: Weight
    ending: Weight
    shaken: Weight
    home: Weight


class AlikeWeights(Struct, frozen=True, forbid_unknown_fields=True):
    """What it is worth to finger a figure the same way wherever it comes."""

    points: Weight


class AirWeights(Struct, frozen=True, forbid_unknown_fields=True):
    """The player's lungs."""

    capacity_litres: Weight
    unit_litres: Weight
    flow_litres_per_second: Weight
    hole_share: Weight
    comfort: tuple[Weight, Weight]
    recovery_litres_per_second: Weight
    breath_seconds: Weight
    breath_points: Weight
    breath_at_bar: Weight
    breath_at_beat: Weight
    breath_within: Weight
    prepared_points: Weight
    points_per_litre: Weight
    points_per_litre_beyond: Weight


class FitWeights(Struct, frozen=True, forbid_unknown_fields=True):
    """What a stand-in for a note loses of its truth."""

    offer_from_points: Weight
    octave: Weight
    octave_more: Weight
    turned: Weight
    leap: Weight
    across_rest: Share
    begun: Weight
    harmony_near: Weight
    harmony_far: Weight
    harmony_reach_semitones: Annotated[int, Meta(ge=1, le=100)]
    missing: Weight
    missing_top: Weight
    added: Weight
    straight: Weight
    stepped: Weight
    silent: Weight
    price_points: Weight


class SpotWeights(Struct, frozen=True, forbid_unknown_fields=True):
    """The hardest spot."""

    window_events: Annotated[int, Meta(ge=1, le=100)]


class ConventionWeights(Struct, frozen=True, forbid_unknown_fields=True):
    """What players usually choose; by position ("1" to "12", and "other") for each colour of a phrase."""

    octave_shift: Weight
    blues_down: Weight
    other_tuning: Weight
    blue_note: Weight
    blues: dict[str, Weight]
    blues_above: dict[str, Weight]
    major: dict[str, Weight]
    minor: dict[str, Weight]
    minor_tuning: dict[str, Weight]


class Weights(Struct, frozen=True, forbid_unknown_fields=True, eq=False):
    """What is hard: the tables of weights.toml, which says what each number is.

    Compared by identity, so that it can be a key.
    """

    move: MoveWeights
    breath: BreathWeights
    travel: TravelWeights
    cold_bend: ColdBendWeights
    overbend_attack: OverbendAttackWeights
    embouchure: EmbouchureWeights
    ornament: OrnamentWeights
    expression: ExpressionWeights
    alike: AlikeWeights
    air: AirWeights
    fit: FitWeights
    spot: SpotWeights
    custom: ConventionWeights

    def __post_init__(self) -> None:
        for gap in range(2, self.move.deepest_known_gap + 1):
            if len(self.move.draw_bend.get(str(gap), ())) != gap - 1:
                raise SettingsError(
                    "arrange.bend_weights", where=Place(field="move.draw_bend"), gap=gap, count=gap - 1
                )
        for colour in ("blues", "blues_above", "major", "minor", "minor_tuning"):
            if "other" not in getattr(self.custom, colour):
                raise SettingsError("data.missing", where=Place(field=f"custom.{colour}.other"))


# semitones; no two reeds of a hole lie further apart (`harp.tuning`)
Depth = Annotated[int, Meta(ge=1, le=12)]
# times; a hundred times the steady player's is beyond any player (ours)
PlayerFactor = Annotated[float, Meta(gt=0, le=100)]
LevelPoints = Annotated[float, Meta(gt=0, lt=1e6)]


class _PlayerFile(Struct, frozen=True, forbid_unknown_fields=True):
    """A player as a file of levels says it, under the name of the level."""

    draw_bends: tuple[Depth, ...]
    blow_bends: tuple[Depth, ...]
    overblows: bool
    overdraws: bool
    splits: bool
    chords: bool
    move_factor: PlayerFactor
    time_factor: PlayerFactor
    spot_points: LevelPoints
    rush_points: LevelPoints


class _LevelsFile(Struct, frozen=True, forbid_unknown_fields=True):
    default: str
    levels: dict[str, Any]


def parse_levels(text: str) -> tuple[str, Mapping[str, Player]]:
    """Read a file of levels: the default's name, and the players by name."""
    file = "levels.toml"
    data = read_toml(text, _LevelsFile, file=file)
    if data.default not in data.levels:
        raise SettingsError("arrange.default_level", where=Place(file=file, field="default"), name=data.default)
    players = from_tables(data.levels, _PlayerFile, error=SettingsError, where=Place(file=file, field="levels"))
    return data.default, MappingProxyType({name: extended(one, Player, level=name) for name, one in players.items()})


@cache
def _shipped_levels() -> tuple[str, Mapping[str, Player]]:
    return parse_levels(shipped_text("reedpath.arrange", "levels.toml"))


def level_names() -> tuple[str, ...]:
    """Names of the shipped levels, from first months to advanced."""
    return tuple(_shipped_levels()[1])


def load_player(level: str | None = None) -> Player:
    """The player of a level, shipped or added, the default one for None."""
    default, players = _shipped_levels()
    if level is None or level in players:
        return players[level or default]
    text = added_text("levels", level)
    if text is None:
        raise SettingsError("arrange.unknown_level", name=level, known=[*players, *added_names("levels")])
    return extended(read_toml(text, _PlayerFile, file=f"{level}.toml"), Player, level=level)


def parse_weights(text: str) -> Weights:
    """Read a file of weights."""
    return read_toml(text, Weights, file="weights.toml")


@cache
def load_weights() -> Weights:
    """The shipped weights."""
    return parse_weights(shipped_text("reedpath.arrange", "weights.toml"))

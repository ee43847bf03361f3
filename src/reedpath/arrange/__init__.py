"""Arranging: from a phrase and a harp to the best route. Knows nothing of files or lessons."""

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face

if TYPE_CHECKING:
    from reedpath.arrange.asked_level import level_asked
    from reedpath.arrange.changing import with_moves
    from reedpath.arrange.finding import find_route
    from reedpath.arrange.others_json import others_as_data
    from reedpath.arrange.pins import Pin
    from reedpath.arrange.player import (
        Player,
        Weights,
        level_names,
        load_player,
        load_weights,
        parse_levels,
        parse_weights,
    )
    from reedpath.arrange.retuning import PlayedOn, ReedChange, Retuning, RetuningSurvey, survey_retunings
    from reedpath.arrange.route import (
        OF_ORNAMENTS,
        Change,
        ChangeKind,
        Choice,
        Effort,
        Route,
        RouteEvent,
        Spot,
        Unlike,
    )
    from reedpath.arrange.route_json import (
        ROUTE_AS_WRITTEN,
        WrittenRoute,
        rounded,
        route_as_data,
        survey_as_data,
        written_route,
    )
    from reedpath.arrange.settling import OtherWay, Settled, settle
    from reedpath.arrange.surveyed_tunes import SurveyedTune, SurveyedTunes, TuneWay, surveyed_tunes_as_data
    from reedpath.arrange.surveying import Ranked, Survey, all_harps, octave_shifts, ranked_as, survey
    from reedpath.arrange.terms import TERMS, EffortTerm
    from reedpath.arrange.tradeoff import price_sweep, shortened, trade_off, unbeaten
else:
    __getattr__ = lazy_face(__name__)

__all__ = [
    "OF_ORNAMENTS",
    "ROUTE_AS_WRITTEN",
    "TERMS",
    "Change",
    "ChangeKind",
    "Choice",
    "Effort",
    "EffortTerm",
    "OtherWay",
    "Pin",
    "PlayedOn",
    "Player",
    "Ranked",
    "ReedChange",
    "Retuning",
    "RetuningSurvey",
    "Route",
    "RouteEvent",
    "Settled",
    "Spot",
    "Survey",
    "SurveyedTune",
    "SurveyedTunes",
    "TuneWay",
    "Unlike",
    "Weights",
    "WrittenRoute",
    "all_harps",
    "find_route",
    "level_asked",
    "level_names",
    "load_player",
    "load_weights",
    "octave_shifts",
    "others_as_data",
    "parse_levels",
    "parse_weights",
    "price_sweep",
    "ranked_as",
    "rounded",
    "route_as_data",
    "settle",
    "shortened",
    "survey",
    "survey_as_data",
    "survey_retunings",
    "surveyed_tunes_as_data",
    "trade_off",
    "unbeaten",
    "with_moves",
    "written_route",
]

"""Many tunes surveyed: for each what plays it best, how hard it is there and what it asks for."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any

from msgspec import Struct

from reedpath.data import as_plain
from reedpath.errors import ReedpathError
from reedpath.harp import Harp
from reedpath.phrase import LeftOut
from reedpath.pitch import Key

# decimals of points and shares in data; finer differences mean nothing to a player
DECIMALS = 4


class TuneWay(Struct, frozen=True):
    """A way to play a tune.

    harp : index among the harps of the survey.
    position : 1 to 12, None where the tune's key is unknown.
    shift_semitones : how far the tune is moved.
    difficulty : points of effort a note.
    worst : points of its hardest stretch.
    truth : 1 where every note is as given.
    """

    harp: int
    position: int | None
    shift_semitones: int
    difficulty: float
    worst: float
    truth: float


class SurveyedTune(Struct, frozen=True):
    """A tune surveyed.

    file : name of its file, as it was said or from the folder that was.
    tune : its number in a book of tunes, None where it is the only one; text where the number comes again or is
        missing ("5-2" for the second of those numbered 5, "-1" for the first without a number).
    title : of the tune, else the file's name without its ending.
    key : found from the notes where the source says none.
    notes : how many events there are to play. seconds : how long they last.
    ways : best first; of the first one
    level : the first of the levels whose techniques are enough, None where none is.
    techniques : names of what it asks for, the rarest first.
    changes : how many differences from the source there are, by their kind, the most frequent first.
    left_out : what was not read of the source.
    """

    file: str
    tune: int | str | None
    title: str
    key: Key | None
    notes: int
    seconds: float
    ways: tuple[TuneWay, ...]
    level: str | None
    techniques: tuple[str, ...]
    changes: tuple[tuple[str, int], ...]
    left_out: tuple[LeftOut, ...]

    @property
    def best(self) -> TuneWay:
        """The best way."""
        return self.ways[0]


class SurveyedTunes(Struct, frozen=True):
    """What was found of many tunes.

    harps : those that were surveyed.
    tunes : the easiest first.
    unread : what says why a file or tune could not be read or played, in order of files.
    """

    harps: tuple[Harp, ...]
    tunes: tuple[SurveyedTune, ...]
    unread: tuple[ReedpathError, ...] = ()

    def harp_of(self, way: TuneWay) -> Harp:
        """The instrument of a way."""
        return self.harps[way.harp]

    def best_harps(self) -> tuple[tuple[Harp, int], ...]:
        """Harps and how many tunes each plays best, the most used first."""
        counts = Counter(tune.best.harp for tune in self.tunes)
        return tuple(
            (self.harps[one], count) for one, count in sorted(counts.items(), key=lambda it: (-it[1], it[0]))
        )


def _tune_as_data(tune: SurveyedTune, found: SurveyedTunes) -> dict[str, Any]:
    def ways() -> Iterator[dict[str, Any]]:
        for way in tune.ways:
            harp = found.harp_of(way)
            plain: dict[str, Any] = as_plain(way)
            rounded = {name: round(plain[name], DECIMALS) for name in ("difficulty", "worst", "truth")}
            yield plain | {"harp": harp.name, "tuning": harp.tuning.name} | rounded

    data: dict[str, Any] = as_plain(tune)
    return data | {"seconds": round(tune.seconds, 3), "ways": list(ways()), "changes": dict(tune.changes)}


def surveyed_tunes_as_data(found: SurveyedTunes) -> dict[str, Any]:
    """The same as plain data, in the documented shape of ``--json`` (docs/json.md), the unread left aside."""
    return {
        "tunes": [_tune_as_data(tune, found) for tune in found.tunes],
        "harps": [
            {"harp": harp.name, "tuning": harp.tuning.name, "tunes": count} for harp, count in found.best_harps()
        ],
    }

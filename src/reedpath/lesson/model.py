"""The lesson: a route made teachable. Data only; how it is drawn, spoken or heard is decided elsewhere."""

from __future__ import annotations

from dataclasses import dataclass

from reedpath.arrange import Route, Spot

__all__ = ["Drill", "Lesson", "LessonPart", "Rung"]


@dataclass(frozen=True, slots=True)
class LessonPart:
    """A stretch of the route taught at a time.

    label : the source's own label, or a letter found by the program.
    first, last : indexes of route events, inclusive.
    same_as : index of the earlier part that this one repeats move for move, None for a new one.
    """

    label: str
    first: int
    last: int
    same_as: int | None = None


@dataclass(frozen=True, slots=True)
class Rung:
    """One tempo of the ladder.

    name : key of its name in the catalogues ("slow", "faster", ..., "full").
    factor : share of the full tempo, 0 to 1.
    bpm : quarter notes a minute at the start.
    """

    name: str
    factor: float
    bpm: float


@dataclass(frozen=True, slots=True)
class Drill:
    """A spot to practise apart.

    spot : where and why.
    times : how often to play it at each rung before going on.
    ladder : its own tempos.
    """

    spot: Spot
    times: int
    ladder: tuple[Rung, ...]


@dataclass(frozen=True, slots=True)
class Lesson:
    """A route made teachable.

    title : the phrase's title, or one made from its key and position.
    route : what is to be played, as found by the search.
    parts : in order, covering every event once.
    ladder : slow to full.
    drills : spots to practise apart, the hardest first.
    notation : name of the tab notation to print.
    languages : catalogues to write steps in.
    """

    title: str
    route: Route
    parts: tuple[LessonPart, ...]
    ladder: tuple[Rung, ...]
    drills: tuple[Drill, ...]
    notation: str
    languages: tuple[str, ...]

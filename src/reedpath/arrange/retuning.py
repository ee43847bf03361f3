"""Which small retuning of a harp, one reed or two, makes phrases easiest; an exact search.

Every retuning of so many reeds is a tuning, and each phrase on it a case of the search (see `surveying`). The moves
and the lost truth alone bound a case from below, and so does the search without air; retunings are searched with air
in the order of their bounds, until no bound left beats what has been found.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, product

import numpy as np
from msgspec import Struct

from reedpath.arrange.finding import question_of, table_for
from reedpath.arrange.lattice import Case, Question, lattice_of, least_points
from reedpath.arrange.lungs import Air, air_of
from reedpath.arrange.player import Player, load_weights
from reedpath.arrange.relaxed import relaxed_costs
from reedpath.arrange.search import shortest_path
from reedpath.arrange.table import ChoiceTable
from reedpath.errors import SettingsError
from reedpath.harp import Breath, Harp, Tuning
from reedpath.phrase import Phrase, performed

# semitones by which a reed is retuned at most; by more it wants another reed (common practice, no source)
FARTHEST = 2
# reeds retuned at once at most
MOST_REEDS = 2
# tunings laid out together; more saves calls, fewer saves work on those that are out
TUNINGS_AT_ONCE = 64
# points that every reed retuned has to save, beyond what the others save without it; a point is a clean half-step
# draw bend on hole 4 (docs/arranging.md), and for less nobody files a reed (our choice)
LEAST_SAVING = 1.0
# points; costs nearer than this differ by rounding alone
SAME = 1e-6


class ReedChange(Struct, frozen=True):
    """One reed retuned: by so many semitones, up where positive."""

    hole: int
    breath: Breath
    semitones: int


class Retuning(Struct, frozen=True):
    """A tuning with some reeds retuned.

    changes : blow reeds first, by hole.
    points : what the best routes of all phrases cost on it, effort and lost truth together.
    saves : how much less that is than on the tuning as it is.
    """

    changes: tuple[ReedChange, ...]
    tuning: Tuning
    points: float
    saves: float


class RetuningSurvey(Struct, frozen=True):
    """What retuning saves.

    points : what the best routes of all phrases cost on the tuning as it is.
    ranked : retunings each reed of which saves a point or more; the best first, of equal ones that with fewer
        semitones.
    searched : how many retunings there are.
    """

    points: float
    ranked: tuple[Retuning, ...]
    searched: int


class PlayedOn(Struct, frozen=True):
    """A phrase that a retuning is to make easier: moved to where it is to sound, its harp, and who plays it."""

    phrase: Phrase
    harp: Harp
    player: Player


class _Asked(Struct, frozen=True):
    """A phrase to be played, by whom, and how far it lies from the harp's key note."""

    table: ChoiceTable
    question: Question
    air: Air
    offset: int


def _retuned(tuning: Tuning, changes: Sequence[ReedChange]) -> Tuning:
    rows = {Breath.BLOW: list(tuning.blow), Breath.DRAW: list(tuning.draw)}
    for change in changes:
        rows[change.breath][change.hole - 1] += change.semitones
    name = ",".join(f"{change.breath.value}{change.hole}{change.semitones:+d}" for change in changes)
    return Tuning(f"{tuning.name},{name}", tuning.title, tuple(rows[Breath.BLOW]), tuple(rows[Breath.DRAW]))


def _all_changes(tuning: Tuning, reeds: int) -> Iterator[tuple[ReedChange, ...]]:
    """Every way to retune up to so many reeds, the smallest changes first."""
    steps = [step for step in range(-FARTHEST, FARTHEST + 1) if step]
    every = list(product(Breath, range(1, tuning.holes + 1)))
    ways = [
        tuple(ReedChange(hole, breath, step) for (breath, hole), step in zip(places, by, strict=True))
        for count in range(1, reeds + 1)
        for places in combinations(every, count)
        for by in product(steps, repeat=count)
    ]
    return iter(sorted(ways, key=lambda changes: sum(abs(change.semitones) for change in changes)))


class _Retunings(Struct, frozen=True):
    """All there is to search: tunings, the one as it is first, and what is asked of each."""

    asked: tuple[_Asked, ...]
    tunings: tuple[Tuning, ...]
    price_points: float

    def _cases(self, asked: _Asked, tunings: Sequence[int]) -> list[Case]:
        return [Case(self.tunings[index], asked.offset) for index in tunings]

    def least(self) -> list[float]:
        """For each tuning what all phrases cost at least, by their moves and lost truth alone."""
        every = range(len(self.tunings))
        total = np.zeros(len(self.tunings))
        for one in self.asked:
            total += least_points(one.table, one.question, self._cases(one, every), price_points=self.price_points)
        return [float(points) for points in total]

    def relaxed(self, tunings: Sequence[int]) -> list[float]:
        """The same without air, for some tunings."""
        total = np.zeros(len(tunings))
        for one in self.asked:
            lattice = lattice_of(one.table, one.question, self._cases(one, tunings), price_points=self.price_points)
            total += relaxed_costs(lattice).costs
        return [float(points) for points in total]

    def exact(self, tuning: int) -> float:
        """What all phrases cost on one tuning."""
        total = 0.0
        for one in self.asked:
            cases = self._cases(one, [tuning])
            relaxed = relaxed_costs(lattice_of(one.table, one.question, cases, price_points=self.price_points))
            total += shortest_path(relaxed.layers(0, one.table.columns["flow"]), one.air).cost
        return total


def _best(search: _Retunings, changes: Sequence[tuple[ReedChange, ...]], top: int) -> list[tuple[float, int]]:
    """Cost and place of the best tunings, the one as it is left out; none of which a smaller change does as well."""
    place_of = {(): 0} | {each: index for index, each in enumerate(changes, start=1)}
    known: dict[int, float] = {}
    found: list[tuple[float, int]] = []

    def exact(index: int) -> float:
        if index not in known:
            known[index] = search.exact(index)
        return known[index]

    def is_needed(index: int) -> bool:
        each = changes[index - 1]
        fewer = [some for count in range(len(each)) for some in combinations(each, count)]
        return all(exact(index) <= exact(place_of[some]) - LEAST_SAVING * (len(each) - len(some)) for some in fewer)

    def out(bound: float) -> bool:
        return len(found) >= top and bound > found[top - 1][0] + SAME

    least = search.least()
    order = sorted(range(1, len(search.tunings)), key=lambda index: (least[index], index))
    for start in range(0, len(order), TUNINGS_AT_ONCE):
        batch = order[start : start + TUNINGS_AT_ONCE]
        if out(least[batch[0]]):
            break
        for bound, index in sorted(zip(search.relaxed(batch), batch, strict=True)):
            if out(bound):
                break
            if is_needed(index):
                found.append((exact(index), index))
                found.sort(key=lambda one: (round(one[0], 6), one[1]))
    return found[:top]


def survey_retunings(phrases: Sequence[PlayedOn], *, reeds: int = 1, top: int = 5) -> RetuningSurvey:
    """The retunings of one reed or two that make phrases easiest, all together.

    phrases : the harps may be of several keys, and are of one tuning.
    reeds : how many reeds at most, 1 or 2.
    top : how many retunings are wanted.

    Raises `SettingsError` when the harps are not of one tuning, or another number of reeds is asked for.
    """
    if not 1 <= reeds <= MOST_REEDS:
        raise SettingsError("arrange.reeds_to_retune", count=reeds, most=MOST_REEDS)
    tunings = {one.harp.tuning for one in phrases}
    if len(tunings) > 1:
        raise SettingsError("arrange.several_tunings", names=sorted(one.name for one in tunings))
    weights = load_weights()
    asked = []
    for one in phrases:
        played = performed(one.phrase)
        if played.events:
            question = question_of(played)
            air = air_of(question.pace, weights, one.player)
            asked.append(_Asked(table_for(one.player, weights), question, air, -one.harp.key_midi))
    if not asked:
        return RetuningSurvey(0.0, (), 0)
    (tuning,) = tunings
    changes = list(_all_changes(tuning, reeds))
    search = _Retunings(
        tuple(asked),
        (tuning, *(_retuned(tuning, each) for each in changes)),
        weights.fit.price_points,
    )
    now = search.exact(0)
    ranked = tuple(
        Retuning(changes[index - 1], search.tunings[index], points, now - points)
        for points, index in _best(search, changes, top)
    )
    return RetuningSurvey(now, ranked, len(changes))

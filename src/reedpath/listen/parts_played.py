"""A route played by parts: the best play-through of each part, told together as one.

A student often plays the first half three times, then the second, and the whole not yet. Then no single play-through
says how it goes. Of those in part, the ones are taken that together hold most of the route: the best first, then
whichever has most right that is not held yet.
"""

from __future__ import annotations

from collections.abc import Sequence

from reedpath.arrange import Route
from reedpath.listen.advice import OF_THE_WHOLE, failed_spots, practise_of
from reedpath.listen.answer import PartsPlayed, PlayAnswer, events_of_parts

# share of the route's notes that a part must have beyond those before, and how many; less is a note left out at an
# end, or a place that was begun anew; ours, the former as what is told to be the rest (`next_step`)
PART_OF_ROUTE, FEWEST_NOTES = 0.1, 4


def _chosen(plays: Sequence[PlayAnswer], best: int, route_events: int) -> tuple[int, ...]:
    """Indexes of the play-throughs that are told together, in the order of the route."""
    chosen, fewest = [best], max(FEWEST_NOTES, PART_OF_ROUTE * route_events)
    held = {one.event for one in plays[best].events}
    while len(chosen) < len(plays) and route_events - len(held) >= fewest:
        new = [[one for one in play.events if one.event not in held] for play in plays]
        most = max(range(len(plays)), key=lambda index: (sum(one.is_right for one in new[index]), len(new[index])))
        if len(new[most]) < fewest:
            break
        chosen.append(most)
        held |= {one.event for one in new[most]}
    return tuple(sorted(chosen, key=lambda index: (plays[index].play.first, plays[index].play.last)))


def parts_played(
    plays: Sequence[PlayAnswer], best: int | None, route: Route, route_events: int
) -> PartsPlayed | None:
    """The play-throughs of several parts that are told together; None where one play-through says it all.

    best : index of the play-through that would be told alone. route_events : events of the route that sound.
    """
    chosen = () if best is None or plays[best].play.whole else _chosen(plays, best, route_events)
    if len(chosen) < 2:
        return None
    told = [plays[index] for index in chosen]
    events = events_of_parts(told)
    whole = {thing.kind: thing for play in told for thing in play.practise if thing.kind in OF_THE_WHOLE}
    return PartsPlayed(
        plays=chosen,
        practise=practise_of(events, whole=tuple(whole.values())),
        spots=failed_spots(route, events),
    )

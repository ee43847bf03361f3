"""The one place that names bars in words: by their numbers in the source, and from the 2nd time on by the time."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from reedpath.phrase import PrintedBar
from reedpath.wording.catalogue import Catalogue


def _runs(bars: Iterable[PrintedBar]) -> list[list[PrintedBar]]:
    """Bars that follow on from one another in the source."""
    runs: list[list[PrintedBar]] = []
    for bar in bars:
        if runs and bar == PrintedBar(runs[-1][-1].number + 1, runs[-1][-1].turn):
            runs[-1].append(bar)
        else:
            runs.append([bar])
    return runs


def _same_time(runs: Sequence[list[PrintedBar]], catalogue: Catalogue) -> str:
    """Bars that are played for the same time, none of them a pickup."""
    named = [
        catalogue.say("bars.run", first=run[0].number, last=run[-1].number) if len(run) > 1 else str(run[0].number)
        for run in runs
    ]
    count, turn, bars = sum(map(len, runs)), runs[0][0].turn, catalogue.join(named)
    if turn == 1:
        return catalogue.say("bars.named", count=count, bars=bars)
    return catalogue.say("bars.again", count=count, bars=bars, nth=catalogue.ordinal(turn))


def bars_words(bars: Sequence[PrintedBar], catalogue: Catalogue, *, singly: bool = False) -> str:
    """
    Bars in words, in the order given: "bar 6", "bars 7 to 8 and bars 1 to 2, 2nd time".

    A pickup is named only where there is nothing else.

    singly : whether each bar is named: "bars 7 and 8".
    """
    full = list(dict.fromkeys(bar for bar in bars if bar.number))
    if not full:
        return catalogue.say("bars.pickup")
    runs = [[bar] for bar in full] if singly else _runs(full)
    groups: list[list[list[PrintedBar]]] = []
    for run in runs:
        if groups and groups[-1][0][0].turn == run[0].turn:
            groups[-1].append(run)
        else:
            groups.append([run])
    return catalogue.join([_same_time(group, catalogue) for group in groups])

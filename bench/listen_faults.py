"""Faults put into takes at known places: how many are found, how many false alarms are raised.

    python bench/listen_faults.py            the first table of docs/accuracy.md (test routes)
    python bench/listen_faults.py --more     the second: vibrato, hands, recorders' gain and codings, another reed
    python bench/listen_faults.py --tuning   the same on the routes that thresholds were found on
    python bench/listen_faults.py --misses   and every miss and false alarm, one a line

Takes are glued from recorded harmonica notes (Debian's fluid-soundfont-gm, MIT), see
tests/support/glued_takes.py: routes of fiddle tunes from music21's corpus (public domain) and phrases typed by
hand, played at 60 to 105 % of their tempo with a drift of up to 6 %, jitter, slurs and slides, with three to five
faults each, four events or more apart. The backing is a recorded drum loop (Debian's sonic-pi-samples, CC0) with
recorded guitar chords from the same bank.
"""

from __future__ import annotations

import sys
import time
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))
sys.path.insert(0, str(Path(__file__).resolve().parent))

from hear_sound import Recording, bank_notes, loop_sound
from reedpath.arrange import Route, find_route, load_player
from reedpath.data import replace
from reedpath.harp import Alteration, make_harp, sound_of
from reedpath.listen import FaultKind, PlayAnswer, Verdict, answer_take
from reedpath.phrase import Tempo, trimmed
from support.built_routes import built_route
from support.glued_takes import (
    RATE,
    Deed,
    Fault,
    Kind,
    Manner,
    Take,
    Voice,
    backing,
    clean,
    faulted,
    glue,
    held_voice,
    hum,
    perform,
    phone,
    room,
    under,
    wavering,
    wrong_moves,
)
from support.take_conditions import amr, opus, swallowed, wah
from workloads import corpus_phrases

# share by which the tempo of a take may drift for it to be steady
STEADY = 0.04
# events of a tune that are played
EVENTS = 36
# tunes and phrases: those that most thresholds and rules were found on, and those of the test (of which earlier draws
# of faults were looked at: docs/accuracy.md)
TUNING_TUNES = (0, 3, 6, 9, 12, 15, 18, 20, 22, 24, 26, 28, 32, 36, 40, 44, 48, 52)
TEST_TUNES = (2, 16, 21, 29, 34, 45, 53)
TUNING_PHRASES = (
    ("A", 96.0, "2d 3d' 4b:1 4d' 4d 5d 6b:1 r:1/2 6b 5d 4d 4d' 4b 3d' 2d:2 2d 3d'' 3d 4d 5b 6b:1^1 4d:1~ 2d:2"),
    ("C", 88.0, "4b 4d 5b 6d' 6d 6b 8b' 8b 9b' 9b 8b:1 r:1 3d'' 3d''' 3d'' 3d' 3d:1 2d'' 2d' 2d:1 1d' 1d 1b:2"),
    ("D", 104.0, "3d' 3d:1 4d' 4d 4b 3d'' 2d:1 r:1 2d'' 2d 3d' 4b:1 4d' 4b 3d' 2d 1d 2d:2 3d:1^1 4d 5d 6d' 6d 6b:2"),
    ("G", 92.0, "6b 6d 7b:1 8b' 8b 9b:1 10b'' 10b' 10b:1 r:1 9b 9b' 8d 7b 6d:1 6d' 6b 5d 4d 4d' 4b 3d' 2d:2"),
    ("Bb", 80.0, "2d:1 2d' 2d'' 1d:1 1d' 1b:1 2d 3d''' 3d'' 3d' 3d:1 4b:1~ 4d 4d' 4b 3d' 3d'' 2d:2 r:1 4d:1_1 2d:2"),
    ("E", 90.0, "1d 2d'' 2d:1 3d' 3d 4d:1 5d 4d 4d' 4b 3d'' 2d:1 r:1 2d 2d' 2d'' 1d:2 6b 6d' 6d 7b 6d 6b:1~ 5d 4d:2"),
    ("A", 100.0, "4d:1^1 4b 3d' 2d:1 2d'' 2d 3d' 4b 4d' 4d:1 r:1/2 5d 5d 6b 6b 5d 4d 4d' 4b 3d' 3d'' 2d:1_1 1b 2d:2"),
    ("F", 84.0, "3d''' 3d'' 3d' 3d 4b:1 5b 6b:1 6d' 6d 7d 7b:1 8b' 8b 9b' 9b 8b 7b:1 r:1 6d 6d' 6b 5b 4b:1 2d 1b:2"),
)
TEST_PHRASES = (
    (
        "Ab",
        94.0,
        "5d 4d 4d' 4b 3d':1 2d:1 r:1/2 2d 3d' 4b 4d':1 4d 5d 6b:1 6d' 6d:1 6b 5d 4d:1 3d'' 2d:1 2d'' 1d:1 2d:2",
    ),
    (
        "C",
        86.0,
        "1b 1d' 1d 2b:1 2d'' 2d' 2d:1 3d''' 3d'' 3d' 3d:1 4b 4d' 4d:1 r:1 5b 5d 6b 6d' 6d:1~ 7d 7b:1 8d 8b' 8b:2",
    ),
    (
        "B",
        98.0,
        "4d':1 4d 3d':1 3d 2d' 2d:1 3d'' 4b 4d:1^1 5d 6b:1 r:1/2 6b 6d 6d' 6b 5d:1 4d 4d' 4b:1 3d' 3d'' 2d:1 2d:2",
    ),
)


def _tune_route(number: int) -> Route:
    """A tune on the harp of its second position, so that it needs bends."""
    phrase = corpus_phrases(60)[number]
    events = phrase.events[:EVENTS]
    part = replace(trimmed(phrase, Fraction(0), events[-1].end), tempos=(Tempo(Fraction(0), 84.0),))
    player = load_player("advanced")
    routes = [
        find_route(part, make_harp(key), shift_semitones=shift, player=player)
        for key in ("A", "C", "D", "G")
        for shift in (0, -12)
    ]
    fit = [route for route in routes if route.truth > 0.97 and all(one.choice.move for one in route.events)]
    bends = lambda route: sum(one.choice.move.alteration is Alteration.BEND for one in route.events)  # noqa: E731
    return max(fit or routes, key=lambda route: (min(bends(route), 10), route.truth))


def routes(*, tuning: bool) -> list[Route]:
    tunes, phrases = (TUNING_TUNES, TUNING_PHRASES) if tuning else (TEST_TUNES, TEST_PHRASES)
    return [
        *(_tune_route(number) for number in tunes),
        *(built_route(text, key=key, bpm=bpm) for key, bpm, text in phrases),
    ]


@dataclass
class Faulty:
    route: Route
    take: Take
    faults: list[Fault]
    deeds: list[Deed]
    drift: float = 0.0


def _fault(route: Route, deed: Deed, rng: np.random.Generator) -> Fault | None:
    length = deed.end - deed.start
    move = deed.move
    kinds = [Kind.MISSING]
    if len(move.holes) == 1:
        kinds += [Kind.WRONG]
        if length > 0.19:
            kinds += [Kind.LATE]
        if length > 0.3:
            kinds += [Kind.TWICE, Kind.AGAIN]
        if move.alteration is Alteration.BEND and not move.is_dip and not deed.offsets:
            kinds += [Kind.FLAT, Kind.FLAT, Kind.FLAT]
    kind = kinds[int(rng.integers(len(kinds)))]
    if kind is Kind.FLAT:
        return Fault(kind, deed.event, float(rng.uniform(20, 60)))
    if kind is Kind.LATE:
        return Fault(kind, deed.event, float(rng.uniform(0.08, min(0.2, length - 0.1))))
    if kind is Kind.WRONG:
        moves = wrong_moves(route, deed.event)
        return Fault(kind, deed.event, 0.0, moves[int(rng.integers(len(moves)))]) if moves else None
    return Fault(kind, deed.event)


def faulty_take(route: Route, seed: int) -> Faulty:
    rng = np.random.default_rng([seed, len(route.events)])
    manner = Manner(factor=float(rng.uniform(0.6, 1.05)), drift=float(rng.uniform(-0.06, 0.06)))
    deeds = perform(route, rng, manner=manner)
    faults: list[Fault] = []
    at = int(rng.integers(1, 4))
    while at < len(route.events) - 1:
        deed = next((one for one in deeds if one.event == at), None)
        fault = _fault(route, deed, rng) if deed else None
        if fault:
            deeds = faulted(deeds, fault)
            faults.append(fault)
        at += int(rng.integers(4, 10))
    return Faulty(route, glue(route, deeds, rng), faults, deeds, manner.drift)


def _alike(route: Route, event: int) -> set[int]:
    """An event and its neighbours of the very same pitch: of equal notes none is the one too many."""
    pitches = [sound_of(route.harp, one.choice.move).midi for one in route.events]
    first = last = event
    while first > 0 and pitches[first - 1] == pitches[event]:
        first -= 1
    while last + 1 < len(pitches) and pitches[last + 1] == pitches[event]:
        last += 1
    return set(range(first, last + 1))


def _is_found(fault: Fault, play: PlayAnswer, route: Route) -> bool:
    one = next((answer for answer in play.events if answer.event == fault.event), None)
    if one is None:
        return False
    where = _alike(route, fault.event) if fault.kind in (Kind.TWICE, Kind.AGAIN) else {fault.event}
    kinds = {found.kind for answer in play.events if answer.event in where for found in answer.faults}
    if fault.kind is Kind.WRONG:
        truth = sound_of(route.harp, fault.move).midi
        return one.verdict is Verdict.ANOTHER and sound_of(route.harp, one.heard).midi == truth
    wanted = {
        Kind.FLAT: FaultKind.FLAT,
        Kind.MISSING: FaultKind.MISSED,
        Kind.LATE: FaultKind.LATE,
        Kind.TWICE: FaultKind.EXTRA,
        Kind.AGAIN: FaultKind.EXTRA,
    }
    return wanted[fault.kind] in kinds


@dataclass
class Tally:
    put: dict[Kind, int] = field(default_factory=lambda: defaultdict(int))
    found: dict[Kind, int] = field(default_factory=lambda: defaultdict(int))
    clean: int = 0
    false: int = 0
    onset: list[float] = field(default_factory=list)
    cents: list[float] = field(default_factory=list)
    depth: list[float] = field(default_factory=list)
    seconds: float = 0.0
    took: float = 0.0
    takes: int = 0
    swings: int = 0
    tempos: int = 0
    harps: int = 0

    def row(self, name: str) -> str:
        put, found = sum(self.put.values()), sum(self.found.values())
        cells = [f"{self.found[kind]} of {self.put[kind]}" for kind in Kind]
        onset, cents = np.array(self.onset) * 1000, np.abs(self.cents)
        return (
            f"| {name} | {' | '.join(cells)} | {100 * found / put:.1f} % | {self.false} of {self.clean}, "
            f"{100 * self.false / self.clean:.1f} % | {np.median(onset):.0f} / {np.percentile(onset, 95):.0f} | "
            f"{np.median(cents):.1f} / {np.percentile(cents, 95):.1f} |"
        )


def score(faulty: Faulty, take: Take, tally: Tally, name: str, *, tell: bool) -> None:
    start = time.process_time()
    answer = answer_take(take.samples, faulty.route)
    tally.took += time.process_time() - start
    tally.seconds += take.samples.duration_seconds
    play = answer.plays[answer.best] if answer.best is not None else None
    tally.takes += 1
    swings = [one.swing for one in answer.plays if one.swing is not None and one.swing.kind is not None]
    tempos = [one.tempo for one in answer.plays if not one.tempo.kept and abs(faulty.drift) < STEADY]
    tally.swings, tally.tempos = tally.swings + bool(swings), tally.tempos + bool(tempos)
    tally.harps += answer.harp_heard is not None
    if tell and (swings or tempos):
        print("WHOLE", name, faulty.drift, swings, tempos, flush=True)
    touched = {fault.event for fault in faulty.faults}
    for fault in faulty.faults:
        if fault.kind in (Kind.TWICE, Kind.AGAIN):
            touched |= _alike(faulty.route, fault.event)
    for fault in faulty.faults:
        tally.put[fault.kind] += 1
        found = play is not None and _is_found(fault, play, faulty.route)
        tally.found[fault.kind] += found
        if tell and not found:
            one = next((a for a in play.events if a.event == fault.event), None) if play else None
            told = one and (
                one.verdict.value,
                one.cents,
                one.late_seconds,
                [(f.kind.value, f.amount) for f in one.faults],
            )
            print("MISS ", name, fault.kind.value, fault.event, round(fault.amount, 3), fault.move, told)
    told = {one.event: one for one in play.events} if play else {}
    truth = {deed.event: (deed, at) for deed, at in zip(take.deeds, take.onsets, strict=True)}
    for index, one in enumerate(faulty.route.events):
        if one.choice.move is None or index in touched:
            continue
        tally.clean += 1
        answer_here = told.get(index)
        wrong = answer_here is None or bool(answer_here.faults)
        tally.false += wrong
        if tell and wrong:
            print("FALSE", name, index, one.choice.move, answer_here and
                  [(f.kind.value, round(f.amount, 3)) for f in answer_here.faults])  # fmt: skip
        if answer_here is not None and answer_here.verdict is Verdict.PLAYED:
            deed, at = truth[index]
            tally.onset.append(abs(answer_here.start_seconds - at))
            if answer_here.cents is not None:
                tally.cents.append(answer_here.cents - deed.cents)


def _guitar_chords() -> np.ndarray:
    """Two seconds of two recorded guitar chords."""
    notes = bank_notes("Jazz Guitar")
    out = np.zeros(2 * RATE)
    for start, root in ((0.0, 52), (1.0, 57)):
        for midi in (root, root + 4, root + 7):
            note = min(notes, key=lambda one: abs(one.root_midi - midi))
            ratio = 2 ** ((midi - note.root_midi) / 12)
            source = note.samples.array[:, 0]
            sound = np.interp(np.arange(int(0.95 * RATE)) * ratio, np.arange(len(source)), source, right=0.0)
            out[int(start * RATE) : int(start * RATE) + len(sound)] += sound * 0.3
    return out


def conditions_of(*, tuning: bool) -> dict[str, Callable[..., np.ndarray]]:
    """What takes are heard under; tuning and test have different drums."""
    drums = loop_sound("loop_breakbeat" if tuning else "loop_amen").array[:, 0].astype(float)
    return {
        "clean": clean,
        "room": room,
        "quiet backing": backing(drums, _guitar_chords()),
        "mains hum": hum,
        "phone": phone,
    }


def _looped(note: Recording) -> np.ndarray:
    """A recorded note held for some seconds, as the bank says: its loop goes round."""
    own = note.samples.array[:, 0]
    start, end = note.loop or (0, len(own))
    return np.concatenate([own[:end], np.tile(own[start:end], 1 + 10 * RATE // (end - start))])


@cache
def reed_organ() -> Voice:
    """Another free reed, drawn by suction: the bank's reed organ, of which no threshold of `listen` knows."""
    notes = bank_notes("Reed Organ")
    return held_voice((float(np.median(one.contour_midi)), _looped(one), one.samples.rate) for one in notes)


# a faulty take and a generator to the take that is heard, its truth in its deeds and onsets
Heard = Callable[[Faulty, np.random.Generator], Take]


def _as_glued(condition: Callable[..., np.ndarray]) -> Heard:
    return lambda faulty, rng: under(faulty.take, condition, rng)


def _with_vibrato(faulty: Faulty, rng: np.random.Generator) -> Take:
    deeds = wavering(faulty.deeds, rng, decibels=(4.0, 12.0), hz=(3.0, 8.0))
    return under(glue(faulty.route, deeds, rng), room, rng)


def _on_another_reed(faulty: Faulty, rng: np.random.Generator) -> Take:
    return under(glue(faulty.route, faulty.deeds, rng, voice=reed_organ()), room, rng)


def more_conditions() -> dict[str, Heard]:
    """What takes are heard under besides, all in a room."""
    return {
        "vibrato": _with_vibrato,
        "hands": _as_glued(wah),
        "automatic gain": _as_glued(swallowed),
        "Opus": _as_glued(opus),
        "AMR": _as_glued(amr),
        "reed organ": _on_another_reed,
    }


def main() -> None:
    tuning, tell = "--tuning" in sys.argv, "--misses" in sys.argv
    plain = {name: _as_glued(one) for name, one in conditions_of(tuning=tuning).items()}
    more = "--more" in sys.argv
    conditions = more_conditions() if more else plain
    tallies = {name: Tally() for name in conditions}
    for number, route in enumerate(routes(tuning=tuning)):
        for seed in range(2 if tuning or more else 4):
            faulty = faulty_take(route, 100 * number + seed + (0 if tuning else 90_000))
            for name, heard in conditions.items():
                take = heard(faulty, np.random.default_rng([seed, number]))
                score(faulty, take, tallies[name], f"{name} r{number} s{seed}", tell=tell)
    print(f"| takes | {' | '.join(kind.value for kind in Kind)} | found | false alarms | onset, ms | cents |")
    print("|---|" + "---|" * (len(Kind) + 4))
    for name, tally in tallies.items():
        print(tally.row(name))
    whole = Tally()
    for tally in tallies.values():
        for kind in Kind:
            whole.put[kind] += tally.put[kind]
            whole.found[kind] += tally.found[kind]
        whole.clean += tally.clean
        whole.false += tally.false
        whole.onset += tally.onset
        whole.cents += tally.cents
        whole.seconds += tally.seconds
        whole.takes, whole.swings = whole.takes + tally.takes, whole.swings + tally.swings
        whole.tempos, whole.harps = whole.tempos + tally.tempos, whole.harps + tally.harps
        whole.took += tally.took
    print(whole.row("**all**"))
    speed = whole.seconds / whole.took
    told = f"{whole.swings} are told to swing otherwise, {whole.harps} to be on another harp"
    print(f"\nOf {whole.takes} takes, all in the swing and on the harp that are asked for, {told},")
    print(f"and {whole.tempos} not to keep a tempo that drifts by less than {100 * STEADY:.0f} %.")
    print(f"\n{whole.seconds / 60:.0f} minutes of takes, answered {speed:.0f} times faster than real time")


if __name__ == "__main__":
    main()

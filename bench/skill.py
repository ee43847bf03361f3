"""How well the model of a student's skill is calibrated, with simulated students: the table of docs/students.md.

    python bench/skill.py [--students 200] [--write]

Phrases are drawn at random and arranged by the program, so techniques and points of effort are its own. A simulated
student differs from the model on purpose: the terms of effort weigh otherwise for each, effort counts with a power of
0.85, every note has a difficulty of its own, skill grows from take to take, one in fifty right notes is spoilt, and
the listener errs in 3 of 100. After the first take the next phrase is one of the twelve whose share of notes expected
right is nearest to four in five.
"""

from __future__ import annotations

import argparse
import random
import sys
import time
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

import numpy as np

from reedpath.arrange import TERMS, find_route, load_player
from reedpath.harp import make_harp
from reedpath.phrase import Event, Phrase, Tempo
from reedpath.skill import (
    PlayedDemands,
    SkillObservation,
    StudentSkill,
    after_take,
    chance_of,
    expected_share,
    first_skill,
)
from reedpath.skill.demands import TECHNIQUES, demands_of, played_at
from reedpath.skill.model import _told_between, chances
from reedpath.skill.settings import skill_settings
from tables import put_between

MARKS = ("<!-- skill: made by bench/skill.py -->", "<!-- end of skill -->")
NOTES, PHRASES, TAKES = 40, 90, 20
LISTENER, SPOILT = 0.03, 0.02
TERM_NAMES = tuple(one.name for one in TERMS)


@dataclass(frozen=True, eq=False)
class Tried:
    """A phrase: what it demands, and its effort by term, shape (notes, terms)."""

    demands: PlayedDemands
    terms: np.ndarray


def drawn_phrase(rng: random.Random) -> Phrase:
    """A random walk on a scale, with leaps and double stops."""
    scale = rng.choice([(0, 2, 4, 5, 7, 9, 11), (0, 3, 5, 6, 7, 10), (0, 2, 3, 5, 7, 9, 10), (0, 2, 4, 7, 9)])
    pitches = [octave * 12 + step + 48 for octave in range(1, 4) for step in scale]
    at, place, events = Fraction(0), rng.randrange(5, len(pitches) - 8), []
    for _ in range(NOTES):
        place = min(len(pitches) - 1, max(0, place + rng.choice([-3, -2, -1, -1, 0, 1, 1, 2, 3, 4])))
        length = rng.choice([Fraction(1, 2), Fraction(1, 2), Fraction(1, 4), Fraction(1), Fraction(3, 2)])
        chord = rng.random() < 0.1 and place + 2 < len(pitches)
        midi = (pitches[place], pitches[place + 2]) if chord else (pitches[place],)
        events.append(Event(at, length, midi))
        at += length
    return Phrase(tuple(events), tempos=(Tempo(Fraction(0), rng.choice([50, 65, 80, 100, 120, 140, 170])),))


def pool() -> list[Tried]:
    rng, found, harp = random.Random(11), [], make_harp("C")
    while len(found) < PHRASES:
        player = load_player(rng.choice(["steady", "advanced"]))
        route = find_route(
            drawn_phrase(rng), harp, player=player, shift_semitones=rng.choice([-5, -3, 0, 2, 4, 7, 12])
        )
        priced = played_at(route, 1.0, level="steady")
        demands = demands_of(route)
        if len(demands) < NOTES // 2:
            continue
        efforts = [priced.events[event].effort.terms for event in demands.events]
        found.append(Tried(demands, np.array([[one.get(name, 0.0) for name in TERM_NAMES] for one in efforts])))
    return found


class Student:
    """A simulated student, unlike the model."""

    def __init__(self, rng: np.random.Generator, phrases: list[Tried]) -> None:
        self.general = 3.0 + rng.normal(0, 1.2)
        self.skill = rng.normal(0, 1.0, len(TECHNIQUES))
        self.slope = float(np.exp(rng.normal(0, 0.4)))
        self.gain = np.abs(rng.normal(0, 0.05, len(TECHNIQUES)))
        self.weights = np.exp(rng.normal(0, 0.35, len(TERM_NAMES)))
        self.own = [rng.normal(0, 0.5, len(one.demands)) for one in phrases]

    def logits(self, technique: np.ndarray, terms: np.ndarray) -> np.ndarray:
        effort = np.maximum(0.0, terms @ self.weights) ** 0.85
        return self.general + self.skill[technique] - self.slope * effort

    def able(self, number: int, phrase: Tried) -> np.ndarray:
        """How likely each note is to be right."""
        logits = self.logits(phrase.demands.technique, phrase.terms) + self.own[number]
        return (1 - SPOILT) / (1 + np.exp(-logits))


class Average:
    """The rival: the share right so far of each technique, one and six tenths of two notes to begin with."""

    def __init__(self) -> None:
        self.right, self.all = np.full(len(TECHNIQUES), 1.6), np.full(len(TECHNIQUES), 2.0)

    def take(self, technique: np.ndarray, right: np.ndarray) -> None:
        np.add.at(self.right, technique, right)
        np.add.at(self.all, technique, 1)

    def shares(self, technique: np.ndarray) -> np.ndarray:
        return (self.right / self.all)[technique]


@dataclass
class Seen:
    """What was foretold and what came: arrays by take of each student."""

    take: list[np.ndarray] = field(default_factory=list)
    right: list[np.ndarray] = field(default_factory=list)
    foretold: dict[str, list[np.ndarray]] = field(default_factory=dict)
    nexts: dict[str, list[tuple[int, float]]] = field(default_factory=dict)
    held: list[tuple[int, bool]] = field(default_factory=list)
    seconds: list[float] = field(default_factory=list)


ASKED = (2, 5, 20)


def _told_shares(skill: StudentSkill, demands: PlayedDemands) -> np.ndarray:
    """How likely each note is to be told as right by an answer, shape (notes,)."""
    numbers = skill_settings()
    guess, span = _told_between(demands.technique, numbers)
    return guess + span / (1.0 - numbers.listener.lapse) * chances(skill, demands)


def run(students: int, seed: int) -> Seen:
    phrases, rng, seen = pool(), np.random.default_rng(seed), Seen()
    easy = int(np.argsort([one.demands.points.mean() for one in phrases])[PHRASES // 4])
    for _ in range(students):
        student, skill, average = Student(rng, phrases), first_skill("steady"), Average()
        order: list[int] = []
        for number in range(1, TAKES + 1):
            chosen = int(rng.choice(order[:12])) if order else easy
            phrase = phrases[chosen]
            technique = phrase.demands.technique
            able = student.able(chosen, phrase)
            right = rng.random(len(able)) < able
            told = np.where(rng.random(len(able)) < LISTENER, ~right, right)
            seen.take.append(np.full(len(told), number))
            seen.right.append(told.astype(float))
            truth = able * (1 - LISTENER) + (1 - able) * LISTENER
            for name, shares in (
                ("the model", _told_shares(skill, phrase.demands)),
                ("average per technique", average.shares(technique)),
                ("true probabilities", truth),
            ):
                seen.foretold.setdefault(name, []).append(shares)
            began = time.perf_counter()
            skill = after_take(
                skill,
                [
                    SkillObservation(TECHNIQUES[one], float(points), bool(well))
                    for one, points, well in zip(technique, phrase.demands.points, told, strict=True)
                ],
            )
            seen.seconds.append(time.perf_counter() - began)
            average.take(technique, told)
            student.skill += student.gain
            expected = np.array([expected_share(skill, one.demands) for one in phrases])
            order = list(np.argsort(np.abs(expected - 0.8)))
            if number in ASKED:
                after(number, student, skill, average, phrases, order, seen, rng)
    return seen


def after(number, student, skill, average, phrases, order, seen: Seen, rng) -> None:
    """What is foretold after some takes: the next phrase, and the ranges."""
    truths = np.array([student.able(index, one).mean() for index, one in enumerate(phrases)])
    by_average = [abs(average.shares(one.demands.technique).mean() - 0.8) for one in phrases]
    for name, index in (
        ("the model", order[0]),
        ("average per technique", int(np.argmin(by_average))),
        ("true probabilities", int(np.argmin(np.abs(truths - 0.8)))),
        ("drawn", int(rng.integers(len(phrases)))),
    ):
        seen.nexts.setdefault(name, []).append((number, float(truths[index])))
    # ranges: of notes of phrases that are to come, one a technique
    for technique in range(len(TECHNIQUES)):
        places = [
            (index, place)
            for index, one in enumerate(phrases)
            for place in np.flatnonzero(one.demands.technique == technique)
        ]
        if places:
            index, place = places[rng.integers(len(places))]
            chance = chance_of(skill, TECHNIQUES[technique], float(phrases[index].demands.points[place]))
            logits = student.logits(np.array([technique]), phrases[index].terms[place : place + 1])[0]
            able = (1 - SPOILT) / (1 + np.exp(-logits))
            seen.held.append((number, bool(chance.lowest <= able <= chance.highest)))


def ece(shares: np.ndarray, right: np.ndarray) -> float:
    """Expected calibration error, ten bins of equal width."""
    bins = np.minimum((shares * 10).astype(int), 9)
    return float(
        sum(abs(shares[bins == k].mean() - right[bins == k].mean()) * (bins == k).mean() for k in set(bins.tolist()))
    )


def table(students: int, seed: int) -> str:
    seen = run(students, seed)
    take, right = np.concatenate(seen.take), np.concatenate(seen.right)
    lines = [
        f"`python bench/skill.py --students {students}`: {students} simulated students, {TAKES} takes of about "
        f"{NOTES} notes each, {len(right):,} notes; a take is reckoned with in "
        f"{1000 * np.median(seen.seconds):.1f} ms (median).",
        "",
        "| | Brier, takes 2 to 5 | 6 to 20 | ECE, takes 2 to 5 | 6 to 20 | next phrase really at 0.7 to 0.9, "
        "after 2 / 5 / 20 takes |",
        "|---|---|---|---|---|---|",
    ]
    for name in ("the model", "average per technique", "true probabilities", "drawn"):
        cells = []
        if name in seen.foretold:
            shares = np.concatenate(seen.foretold[name])
            spans = [(take >= low) & (take <= high) for low, high in ((2, 5), (6, TAKES))]
            cells += [f"{np.mean((shares[one] - right[one]) ** 2):.4f}" for one in spans]
            cells += [f"{ece(shares[one], right[one]):.3f}" for one in spans]
        else:
            cells += [""] * 4
        hits = [[abs(share - 0.8) <= 0.1 for at, share in seen.nexts[name] if at == asked] for asked in ASKED]
        cells.append(" / ".join(f"{np.mean(one):.2f}" for one in hits))
        lines.append(f"| {name} | " + " | ".join(cells) + " |")
    held = [np.mean([inside for at, inside in seen.held if at == asked]) for asked in ASKED]
    lines += [
        "",
        "Of the ranges that are to hold in 80 of 100 cases, "
        + ", ".join(f"{100 * one:.0f}" for one in held)
        + " of 100 held after 2, 5 and 20 takes (a note of each technique, from phrases drawn anew).",
    ]
    return "\n".join(lines)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--students", type=int, default=200)
    parser.add_argument("--seed", type=int, default=5)
    parser.add_argument("--write", action="store_true", help="into docs/students.md")
    asked = parser.parse_args()
    made = table(asked.students, asked.seed)
    if asked.write:
        put_between(MARKS, made, Path(__file__).parent.parent / "docs" / "students.md")
    else:
        sys.stdout.write(made + "\n")


if __name__ == "__main__":
    main()

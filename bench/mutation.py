"""How many changes of the code its tests let pass: ``python bench/mutation.py [ROOM ...] [--sample 60] [--seed 1]``.

Each mutant is one small change (a comparison turned, a number moved, a call left out), made by mutmut
(https://mutmut.readthedocs.io). A room's mutants are drawn at random by seed, and each is held against those tests of
the room itself (``tests/ROOM``) that reach it. One that no test notices has survived. With ``--write`` its row in
the table of docs/performance.md is made anew; with ``--show`` the survivors are printed as changes.

Works in a copy of the tree under a temporary folder; the tree itself is left alone. Needs the bench extra.
"""

from __future__ import annotations

import argparse
import json
import random
import re
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

from tables import put_between

ROOT = Path(__file__).resolve().parent.parent
MUTMUT = Path(sys.executable).with_name("mutmut")
TABLE = ROOT / "docs" / "performance.md"
MARKS = ("<!-- mutation: made by bench/mutation.py -->", "<!-- end of mutation -->")
# mutmut's exit codes of a test run under a mutant
SURVIVED, NO_TESTS = 0, (5, 33)
# what is copied beside the sources, since tests read it
BESIDE = ("bench", "docs", "examples", "scripts", "README.md", "CONTRIBUTING.md", "CHANGELOG.md", ".ci")
# tests that read the sources themselves, which hold mutants here
READING_SOURCES = ("tests/phrase/test_left_out_kinds.py::test_the_sources_give_every_kind_of_the_list_and_no_other",)
# mutants of a room, where not said
SAMPLE = 60


@dataclass(frozen=True)
class Outcome:
    """Of one room: mutants there are, mutants tried, those that survived, and those that no test reaches."""

    room: str
    all: int
    tried: int
    survivors: tuple[str, ...]
    unreached: tuple[str, ...]

    @property
    def share(self) -> float:
        """Share of the tried mutants that no test noticed."""
        return (len(self.survivors) + len(self.unreached)) / self.tried if self.tried else 0.0


def rooms() -> list[str]:
    """Rooms that have tests of their own name."""
    return sorted(one.name for one in (ROOT / "src" / "reedpath").iterdir() if (ROOT / "tests" / one.name).is_dir())


def _copy(room: str, to: Path) -> None:
    for name in ("src", "tests", "pyproject.toml", *BESIDE):
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, to / name, ignore=shutil.ignore_patterns("__pycache__", ".*cache"))
        elif source.exists():
            shutil.copy(source, to / name)
    arguments = ["-x", "-q", "-p", "no:cacheprovider", *(f"--deselect={one}" for one in READING_SOURCES)]
    with (to / "pyproject.toml").open("a", encoding="utf-8") as settings:
        settings.write(
            "\n[tool.mutmut]\n"
            'source_paths = ["src"]\n'
            # else what the functions that remember gave before would hide what a mutant gives
            'process_isolation = "forkserver"\n'
            f'only_mutate = ["src/reedpath/{room}/*", "src/reedpath/{room}/**/*"]\n'
            f'pytest_add_cli_args_test_selection = ["tests/{room}"]\n'
            f"pytest_add_cli_args = {json.dumps(arguments)}\n"
            f"also_copy = {json.dumps([name for name in BESIDE if (ROOT / name).exists()])}\n"
        )


def _mutmut(folder: Path, *arguments: str) -> str:
    done = subprocess.run([MUTMUT, *arguments], cwd=folder, capture_output=True, text=True, check=False)
    return done.stdout + done.stderr


def _verdicts(folder: Path) -> dict[str, int | None]:
    found: dict[str, int | None] = {}
    for path in sorted((folder / "mutants").rglob("*.meta")):
        found |= json.loads(path.read_text(encoding="utf-8"))["exit_code_by_key"]
    return found


def mutate(room: str, *, sample: int, seed: int, children: int, show: bool) -> Outcome:
    """Draw mutants of a room and hold them against its tests."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        _copy(room, folder)
        told = _mutmut(folder, "run", "--max-children", str(children), "none.of.these")
        names = sorted(_verdicts(folder))
        if not names:
            raise SystemExit(f"no mutants of {room}:\n{told[-2000:]}")
        drawn = random.Random(f"{seed} {room}").sample(names, min(sample, len(names)))
        told = _mutmut(folder, "run", "--max-children", str(children), *drawn)
        verdicts = _verdicts(folder)
        untried = [one for one in drawn if verdicts[one] is None]
        if untried:
            raise SystemExit(f"{len(untried)} mutants of {room} were not tried:\n{told[-2000:]}")
        survivors = tuple(one for one in drawn if verdicts[one] == SURVIVED)
        unreached = tuple(one for one in drawn if verdicts[one] in NO_TESTS)
        for one in (*survivors, *unreached) if show else ():
            print(_mutmut(folder, "show", one))
    return Outcome(room, len(names), len(drawn), survivors, unreached)


def _row(one: Outcome, seed: int) -> str:
    passed = len(one.survivors) + len(one.unreached)
    return f"| `{one.room}` | {seed} | {one.all} | {one.tried} | {passed} | {100 * one.share:.0f} % |"


def table(outcomes: list[Outcome], *, sample: int, seed: int, before: str = "") -> str:
    """The outcomes as a table for the docs, among the rows that stand there of other rooms and seeds."""
    rows = dict(re.findall(r"^(\| `\w+` \| \d+ \|)(.* %? \|)$", before, re.MULTILINE))
    for one in outcomes:
        start, _, rest = _row(one, seed).partition(f"| {seed} |")
        rows[f"{start}| {seed} |"] = rest
    return "\n".join(
        [
            f"`python bench/mutation.py ROOM --sample {sample} --seed SEED`, each room against its own tests",
            "(without the examples in docstrings, which the suite runs too):",
            "",
            "| room | seed | mutants | tried | passed by the tests | share |",
            "|---|---|---|---|---|---|",
            *(f"{start}{rest}" for start, rest in sorted(rows.items())),
        ]
    )


def main() -> None:
    """Mutate the rooms asked for and print or write the table."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("rooms", nargs="*", default=rooms())
    parser.add_argument("--sample", type=int, default=SAMPLE)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--children", type=int, default=2)
    parser.add_argument("--show", action="store_true", help="print each survivor as a change")
    parser.add_argument("--write", action="store_true", help="write the table into docs/performance.md")
    asked = parser.parse_args()
    outcomes = []
    for room in asked.rooms:
        outcome = mutate(room, sample=asked.sample, seed=asked.seed, children=asked.children, show=asked.show)
        outcomes.append(outcome)
        print(f"{room}: {outcome.tried} of {outcome.all} tried, {outcome.share:.0%} survived", flush=True)
    before = TABLE.read_text(encoding="utf-8").partition(MARKS[0])[2].partition(MARKS[1])[0] if asked.write else ""
    text = table(outcomes, sample=asked.sample, seed=asked.seed, before=before)
    print(f"\n{text}")
    if asked.write:
        put_between(MARKS, text, TABLE)


if __name__ == "__main__":
    main()

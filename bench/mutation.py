"""How many changes of the code its tests let pass: ``python bench/mutation.py [ROOM ...] [--sample 60] [--seed 1]``.

Each mutant is one small change (a comparison turned, a number moved, a call left out), of those that mutmut knows
(https://mutmut.readthedocs.io). A room's mutants are drawn at random by seed. The room's tests (``tests/ROOM``) run
once while the lines that each of them executes are recorded (``reached_lines.py``); a mutant is then held against the
tests that execute its lines, the quickest first, until one fails. If none does, the other tests of their files
follow, since a fixture or a cache may have done the work once for several tests. With ``--stories`` the mutants that
the rooms' own tests let pass are then held against whole jobs: ``tests/stories`` runs once while each test that comes
past a changed line is noted, in processes of its own too (``reached_mutants.py``), and a mutant is held against its
tests, the quickest first, as many as take STORY_SECONDS together. A mutant that none of them notices has survived;
one whose lines no test executes counts as such. A run that takes far more processor time than it did without the
mutant has noticed it (a loop without end). With ``--write`` its row in the table of docs/performance.md is made anew;
with ``--show`` the survivors are printed as changes.

Works in a copy of the tree under a temporary folder; the tree itself is left alone. Needs the bench extra.
"""

from __future__ import annotations

import argparse
import ast
import difflib
import json
import os
import random
import re
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
from dataclasses import dataclass, replace
from pathlib import Path

import coverage
from mutmut.mutation.file_mutation import create_mutations

from reached_mutants import noted, with_marks
from tables import put_between

ROOT = Path(__file__).resolve().parent.parent
TABLE = ROOT / "docs" / "performance.md"
MARKS = ("<!-- mutation: made by bench/mutation.py -->", "<!-- end of mutation -->")
# exit codes: ours of tests that waited for ever; pytest's of tests that passed, that failed, that could not be
# collected, that are not found since their module could not be; that of too much processor time
WAITED = -1
PASSED, NOTICED = 0, (1, 2, 4, -signal.SIGXCPU, WAITED)
# processor seconds that a run of tests may take beyond ten times what the tests took: imports, and a busy machine
PATIENCE = 60
# whole jobs, and the seconds of them that a mutant is held against
STORIES = "tests/stories"
STORY_SECONDS = 90
# seconds by the clock, over ten times what the tests took, after which a run without processor time waits for nothing
WAITING = 600
# what is copied beside the sources, since tests read it
BESIDE = (
    "bench",
    "docs",
    "examples",
    "scripts",
    "jsconfig.json",
    "README.md",
    "CONTRIBUTING.md",
    "CHANGELOG.md",
    ".ci",
)
# tests that read the sources themselves, which hold mutants here
READING_SOURCES = ("tests/phrase/test_left_out_kinds.py::test_the_sources_give_every_kind_of_the_list_and_no_other",)
# mutants of a room, where not said
SAMPLE = 60


@dataclass(frozen=True)
class Mutant:
    """One small change: the file (below the root), the number of the change in it, and the whole source with it."""

    path: str
    number: int
    source: str


@dataclass(frozen=True)
class Reach:
    """Which tests execute a line, by path and line, and the seconds that each test took."""

    tests: dict[str, dict[int, list[str]]]
    seconds: dict[str, float]


@dataclass(frozen=True)
class Outcome:
    """Of one draw: mutants there are, mutants tried, those that the room's tests let pass, those held by stories."""

    room: str
    seed: int
    all: int
    tried: int
    passed: tuple[Mutant, ...]
    held_by_stories: frozenset[Mutant] = frozenset()

    @property
    def left(self) -> int:
        """How many of the tried mutants no test noticed."""
        return len(self.passed) - len(self.held_by_stories)

    @property
    def share(self) -> float:
        """Share of the tried mutants that no test noticed."""
        return self.left / self.tried if self.tried else 0.0


def rooms() -> list[str]:
    """Rooms that have tests of their own name."""
    return sorted(one.name for one in (ROOT / "src" / "reedpath").iterdir() if (ROOT / "tests" / one.name).is_dir())


def _copy(to: Path) -> None:
    for name in ("src", "tests", "pyproject.toml", *BESIDE):
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, to / name, ignore=shutil.ignore_patterns("__pycache__", ".*cache"))
        elif source.exists():
            shutil.copy(source, to / name)


def _pytest(folder: Path, *arguments: str, limit: float | None = None, **environment: str) -> tuple[int, str]:
    """Exit code and last words of a run of tests in the copy, ended at its limit (in seconds of processor time)."""
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", *arguments]
    command += [f"--deselect={one}" for one in READING_SOURCES]
    # the same examples each time, so that a survivor is one of the mutant and not of the draw
    env = os.environ | {"PYTHONPATH": f"{folder / 'src'}{os.pathsep}{folder / 'bench'}", "CI": "1"} | environment
    # a source may change twice in a second, and be as long as before
    env["PYTHONDONTWRITEBYTECODE"] = "1"

    def limited() -> None:
        if limit is not None:
            resource.setrlimit(resource.RLIMIT_CPU, (int(limit), int(limit) + 5))

    try:
        done = subprocess.run(
            command,
            cwd=folder,
            env=env,
            capture_output=True,
            text=True,
            check=False,
            preexec_fn=limited,
            timeout=None if limit is None else WAITING + limit,
        )
    except subprocess.TimeoutExpired:
        return WAITED, ""
    return done.returncode, done.stdout[-2000:] + done.stderr[-500:]


def _reach(folder: Path, *tests: str) -> Reach:
    """Which of the tests execute a line, and how long each takes."""
    data = folder / "reach"
    code, told = _pytest(folder, "-p", "reached_lines", *tests, REACH_DATA=str(data))
    if code != PASSED:
        raise SystemExit(f"{' '.join(tests)} fail without a mutant:\n{told}")
    found = coverage.CoverageData(str(data))
    found.read()
    lines = {
        Path(path).relative_to(folder).as_posix(): found.contexts_by_lineno(path) for path in found.measured_files()
    }
    return Reach(lines, json.loads(Path(f"{data}.json").read_text(encoding="utf-8")))


def _mutants(room: str) -> list[tuple[str, int]]:
    """All changes of functions that there are in a room: path and number."""
    found = []
    for path in sorted((ROOT / "src" / "reedpath" / room).rglob("*.py")):
        changes = create_mutations(str(path), path.read_text(encoding="utf-8"))[1]
        name = path.relative_to(ROOT).as_posix()
        found += [(name, number) for number, one in enumerate(changes) if one.contained_by_top_level_function]
    return found


def _mutant(path: str, number: int) -> Mutant:
    module, changes, _, _ = create_mutations(path, (ROOT / path).read_text(encoding="utf-8"))
    changed = module.deep_replace(changes[number].original_node, changes[number].mutated_node)
    assert isinstance(changed, type(module))
    return Mutant(path, number, changed.code)


def _changed_lines(before: str, after: str) -> range:
    """Lines of the statement that was changed, of one with a body its head; numbers from 1, as coverage counts.

    What runs when a module is imported runs for no test: of a field of a class, say, it is all lines of the module.
    """
    pairs = difflib.SequenceMatcher(None, before.splitlines(), after.splitlines(), autojunk=False).get_opcodes()
    line = next(start + 1 for tag, start, *_ in pairs if tag != "equal")
    held = [one for one in ast.walk(ast.parse(before)) if isinstance(one, ast.stmt)]
    held = [one for one in held if one.lineno <= line <= (one.end_lineno or one.lineno)]
    inner = max(held, key=lambda one: (one.lineno, -(one.end_lineno or one.lineno)))
    if not any(isinstance(one, ast.FunctionDef | ast.AsyncFunctionDef) for one in held):
        return range(1, len(before.splitlines()) + 1)
    if isinstance(inner, ast.FunctionDef | ast.AsyncFunctionDef):  # a default: whatever runs the function
        return range(inner.body[0].lineno, (inner.end_lineno or inner.lineno) + 1)
    body = getattr(inner, "body", None)
    return range(inner.lineno, body[0].lineno if body else (inner.end_lineno or inner.lineno) + 1)


def _tests_of(one: Mutant, reach: Reach) -> list[str]:
    """The tests that execute a mutant's lines, the quickest first; where an import runs them, those of the module."""
    lines = reach.tests.get(one.path, {})
    changed = _changed_lines((ROOT / one.path).read_text(encoding="utf-8"), one.source)
    ran = {test for line in changed for test in lines.get(line, ())}
    found = {test for test in ran if test in reach.seconds}
    if ran and not found:
        found = {test for tests in lines.values() for test in tests if test in reach.seconds}
    return sorted(found, key=lambda test: (reach.seconds[test], test))


def _noticed(folder: Path, one: Mutant, tests: list[str], reach: Reach, *, rest: bool = True) -> bool:
    """Whether one of the tests, or of the others in their files if the rest is asked too, fails under the mutant."""
    files = {test.partition("::")[0] for test in tests} if rest else set()
    others = sorted(set(reach.seconds) - set(tests), key=lambda test: (reach.seconds[test], test))
    kept = (folder / one.path).read_text(encoding="utf-8")
    (folder / one.path).write_text(one.source, encoding="utf-8")
    try:
        for asked in (tests, [test for test in others if test.partition("::")[0] in files]):
            if not asked:
                continue
            limit = PATIENCE + 10 * sum(reach.seconds[test] for test in asked)
            code, told = _pytest(folder, "-x", *asked, limit=limit)
            if code in NOTICED:
                return True
            if code != PASSED:
                raise SystemExit(f"tests of {one.path} did not run:\n{told}")
        return False
    finally:
        (folder / one.path).write_text(kept, encoding="utf-8")


def _shown(one: Mutant) -> str:
    before = (ROOT / one.path).read_text(encoding="utf-8").splitlines()
    return "\n".join(
        difflib.unified_diff(before, one.source.splitlines(), one.path, f"change {one.number}", lineterm="")
    )


def mutate(room: str, *, sample: int, seeds: list[int]) -> list[Outcome]:
    """Draw mutants of a room, a sample by each seed, and hold them against its tests."""
    outcomes = []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name).resolve()
        _copy(folder)
        everything = _mutants(room)
        reach = _reach(folder, f"tests/{room}")
        for seed in seeds:
            drawn = random.Random(f"{seed} {room}").sample(everything, min(sample, len(everything)))
            passed: list[Mutant] = []
            for path, number in drawn:
                one = _mutant(path, number)
                tests = _tests_of(one, reach)
                if not (tests and _noticed(folder, one, tests, reach)):
                    passed.append(one)
                    print(f"passed the tests of {room}, seed {seed}: {path} {number}", flush=True)
            outcomes.append(Outcome(room, seed, len(everything), len(drawn), tuple(passed)))
    return outcomes


def _story_reach(
    folder: Path, mutants: list[Mutant], stories: list[str], *, processes: int
) -> tuple[dict[Mutant, list[str]], Reach]:
    """Which stories come past the lines of each mutant, the quickest first; all stories run once."""
    marks: dict[str, dict[int, range]] = {}
    for place, one in enumerate(mutants):
        before = (ROOT / one.path).read_text(encoding="utf-8")
        marks.setdefault(one.path, {})[place] = _changed_lines(before, one.source)
    for path, places in marks.items():
        before = (folder / path).read_text(encoding="utf-8")
        (folder / path).write_text(with_marks(before, places), encoding="utf-8")
    data = folder / "reach-of-stories"
    shared = ("-n", str(processes), "--dist", "loadfile") if processes > 1 else ()
    _, told = _pytest(folder, "-p", "reached_mutants", *shared, *stories, REACH_DATA=str(data))
    print(f"stories once: {told.strip().splitlines()[-1]}", flush=True)
    for path in marks:
        shutil.copy(ROOT / path, folder / path)
    # one that fails without a mutant notices none
    seconds = json.loads(Path(f"{data}.json").read_text(encoding="utf-8"))
    found = noted(data)
    tests = {
        one: sorted(
            (test for test in found.get(place, ()) if test in seconds), key=lambda test: (seconds[test], test)
        )
        for place, one in enumerate(mutants)
    }
    return tests, Reach({}, seconds)


def held_by_stories(mutants: list[Mutant], stories: list[str], *, processes: int) -> set[Mutant]:
    """Those of the mutants that whole jobs notice."""
    held: set[Mutant] = set()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name).resolve()
        _copy(folder)
        tests, reach = _story_reach(folder, mutants, stories, processes=processes)
        for one in mutants:
            asked: list[str] = []
            for test in tests[one]:
                if asked and sum(reach.seconds[each] for each in (*asked, test)) > STORY_SECONDS:
                    break
                asked.append(test)
            noticed = bool(asked) and _noticed(folder, one, asked, reach, rest=False)
            print(f"{one.path} {one.number}: {'noticed' if noticed else 'passed'}, {len(asked)} stories", flush=True)
            if noticed:
                held.add(one)
    return held


# a row of the table: room, seed, mutants there are, tried, passed the room's tests at first and its share, held by
# stories, passed now and its share
ROW = re.compile(
    r"^\| `(\w+)` \| (\d+) \| (\d+) \| \d+ \| ([^|]+ \| [^|]+) \| [^|]+ \| [^|]+ \| [^|]+ \|$", re.MULTILINE
)


def table(outcomes: list[Outcome], *, sample: int, stories: bool, before: str = "") -> str:
    """
    The outcomes as a table for the docs, among the rows that stand there of other rooms and seeds.

    What a draw passed of the room's own tests at first stays when it is run again, once tests have been written for
    what it passed; once the room's code has changed, a seed draws others.
    """
    rows = {(one[1], int(one[2])): one[0] for one in ROW.finditer(before)}
    first = {(one[1], int(one[2]), int(one[3])): one[4] for one in ROW.finditer(before)}
    for one in outcomes:
        passed = len(one.passed)
        at_first = first.get((one.room, one.seed, one.all), f"{passed} | {100 * passed / max(one.tried, 1):.0f} %")
        held = f"{len(one.held_by_stories)}" if stories else "not asked"
        now = f"{held} | {one.left} | {100 * one.share:.0f} %"
        rows[one.room, one.seed] = f"| `{one.room}` | {one.seed} | {one.all} | {one.tried} | {at_first} | {now} |"
    return "\n".join(
        [
            f"`python bench/mutation.py ROOM --sample {sample} --seed SEED --stories`, each room against its tests",
            "(without the examples in docstrings, which the suite runs too), what they let pass against the stories:",
            "",
            "| room | seed | mutants | tried | passed at first | share | held by stories | passed now | share |",
            "|---|---|---|---|---|---|---|---|---|",
            *(row for _, row in sorted(rows.items())),
        ]
    )


def main() -> None:
    """Mutate the rooms asked for and print or write the table."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("rooms", nargs="*", default=rooms())
    parser.add_argument("--sample", type=int, default=SAMPLE)
    parser.add_argument("--seed", type=int, nargs="+", default=[1])
    parser.add_argument(
        "--stories", nargs="*", help="hold what the rooms' tests let pass against whole jobs: all, or these files"
    )
    parser.add_argument("--processes", type=int, default=2, help="in which the stories run once")
    parser.add_argument("--show", action="store_true", help="print each survivor as a change")
    parser.add_argument("--write", action="store_true", help="write the table into docs/performance.md")
    asked = parser.parse_args()
    outcomes = [one for room in asked.rooms for one in mutate(room, sample=asked.sample, seeds=asked.seed)]
    passed = [mutant for one in outcomes for mutant in one.passed]
    if asked.stories is not None and passed:
        held = held_by_stories(passed, asked.stories or [STORIES], processes=asked.processes)
        outcomes = [replace(one, held_by_stories=frozenset(held & set(one.passed))) for one in outcomes]
    for outcome in outcomes:
        print(f"{outcome.room}: {outcome.tried} of {outcome.all} tried, {outcome.share:.0%} survived", flush=True)
        for mutant in outcome.passed if asked.show else ():
            if mutant not in outcome.held_by_stories:
                print("survived:", _shown(mutant), sep="\n", flush=True)
    before = TABLE.read_text(encoding="utf-8").partition(MARKS[0])[2].partition(MARKS[1])[0] if asked.write else ""
    text = table(outcomes, sample=asked.sample, stories=asked.stories is not None, before=before)
    print(f"\n{text}")
    if asked.write:
        put_between(MARKS, text, TABLE)


if __name__ == "__main__":
    main()

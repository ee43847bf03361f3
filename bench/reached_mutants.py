"""Which tests come past places in the code, also in processes of their own: ``pytest -p reached_mutants``.

``with_marks`` puts calls of ``note`` into a source; each writes the number of its place and the test that runs to a
file beside the one that REACH_DATA names. pytest tells the name of the test to processes that it starts by its
variable PYTEST_CURRENT_TEST. As a plugin this writes which tests passed and what each took, in seconds, to the file
of that name with ``.json`` behind it.
"""

from __future__ import annotations

import ast
import json
import os
from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path

import pytest

DATA = os.environ.get("REACH_DATA", "")
_noted: set[tuple[int, str]] = set()
_seconds: dict[str, float] = defaultdict(float)
_failed: set[str] = set()


def note(place: int) -> None:
    """Write down, once in a process, that a test comes past a place."""
    test = os.environ.get("PYTEST_CURRENT_TEST", "").rpartition(" ")[0]
    if DATA and test and (place, test) not in _noted:
        _noted.add((place, test))
        with Path(f"{DATA}.{os.getpid()}.reached").open("a", encoding="utf-8") as file:
            file.write(f"{place}\t{test}\n")


def noted(data: Path) -> dict[int, set[str]]:
    """The tests that came past each place, as all processes wrote them."""
    found: dict[int, set[str]] = defaultdict(set)
    for path in data.parent.glob(f"{data.name}.*.reached"):
        for line in path.read_text(encoding="utf-8").splitlines():
            place, _, test = line.partition("\t")
            found[int(place)].add(test)
    return found


def with_marks(source: str, places: dict[int, Sequence[int]]) -> str:
    """The source with a note of each place before the statements of functions that begin in one of its lines."""
    tree = ast.parse(source)
    functions = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)]
    inside = [node for function in functions for node in ast.walk(function)]
    bodies = {id(body): body for node in inside for _, body in ast.iter_fields(node) if _is_body(body)}
    for body in bodies.values():
        marked: list[ast.stmt] = []
        for one in body:
            if not _is_docstring(one):
                wanted = [place for place, lines in places.items() if one.lineno in lines]
                marked += [ast.parse(f"__import__('reached_mutants').note({place})").body[0] for place in wanted]
            marked.append(one)
        body[:] = marked
    return ast.unparse(ast.fix_missing_locations(tree)) + "\n"


def _is_body(value: object) -> bool:
    return isinstance(value, list) and any(isinstance(one, ast.stmt) for one in value)


def _is_docstring(one: ast.stmt) -> bool:
    return isinstance(one, ast.Expr) and isinstance(one.value, ast.Constant)


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    """Add what setting up, the test and clearing away took."""
    _seconds[report.nodeid] += report.duration
    if not report.passed:
        _failed.add(report.nodeid)


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Write what each test that passed took; where several processes run tests, the one that hands them out does."""
    if DATA and not hasattr(session.config, "workerinput"):
        passed = {test: seconds for test, seconds in _seconds.items() if test not in _failed}
        Path(f"{DATA}.json").write_text(json.dumps(passed), encoding="utf-8")

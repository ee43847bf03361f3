"""How many changes of a room some of its tests let pass, quickly: ``python bench/forked_mutants.py ROOM TESTS ...``.

The mutants are those that ``mutation.py`` draws by the same seed. The tests named run once, so that all that they
need is imported; then each mutant is put into the functions of a fork of that process, which runs the tests that
come past it. A change that no function holds (a constant of a class, say) cannot be put in, and counts as let pass.
So this says in a minute or two what few strong tests notice; what they let pass is for ``mutation.py`` to hold
against all others.

python bench/forked_mutants.py lesson tests/lesson/test_kept_lessons.py --sample 24 --seed 4
"""

from __future__ import annotations

import argparse
import functools
import gc
import os
import random
import resource
import signal
import sys
import tempfile
import time
import types
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest

import mutation
from mutation import Mutant

# seconds of processor, and by the clock, that the tests of one mutant may take
SECONDS, WAITING = 120, 600
# exit code of a fork in which nothing could be changed
UNCHANGED = 77
PYTEST = ("-q", "-p", "no:cacheprovider")


def _codes(code: types.CodeType) -> Iterator[types.CodeType]:
    yield code
    for one in code.co_consts:
        if isinstance(one, types.CodeType):
            yield from _codes(one)


def _by_name(source: str, path: Path) -> dict[str, types.CodeType]:
    found: dict[str, types.CodeType] = {}
    for code in _codes(compile(source, str(path), "exec")):
        found.setdefault(code.co_qualname, code)
    return found


def _differ(one: types.CodeType, other: types.CodeType) -> bool:
    return (one.co_code, one.co_consts, one.co_names) != (other.co_code, other.co_consts, other.co_names)


def _take_defaults(new: Mapping[str, Any], old: Mapping[str, Any], module: str) -> int:
    """Give functions the defaults that they have in a module made anew; how many were given others."""
    given = 0
    for name, made in list(new.items()):
        there = old.get(name)
        if isinstance(made, type) and isinstance(there, type):
            if made.__module__ == module:
                given += _take_defaults(vars(made), vars(there), module)
            continue
        made, there = (getattr(one, "__wrapped__", getattr(one, "__func__", one)) for one in (made, there))
        if not (isinstance(made, types.FunctionType) and isinstance(there, types.FunctionType)):
            continue
        for field in ("__defaults__", "__kwdefaults__"):
            if repr(getattr(made, field)) != repr(getattr(there, field)):
                setattr(there, field, getattr(made, field))
                given += 1
    return given


def _put_in(folder: Path, one: Mutant) -> int:
    """Put a mutant into the functions that are there; how many were changed."""
    path = folder / one.path
    before, after = _by_name(path.read_text(encoding="utf-8"), path), _by_name(one.source, path)
    changed = {name for name in before.keys() & after.keys() if _differ(before[name], after[name])} - {"<module>"}
    count = 0
    for there in gc.get_objects():
        if not isinstance(there, types.FunctionType) or there.__code__.co_filename != str(path):
            continue
        code = after.get(there.__code__.co_qualname)
        if code is None or code.co_qualname not in changed:
            continue
        if len(code.co_freevars) == len(there.__code__.co_freevars):
            there.__code__ = code
            count += 1
    name = ".".join(Path(one.path).with_suffix("").parts[1:]).removesuffix(".__init__")
    anew = types.ModuleType(name)
    package = name if path.name == "__init__.py" else name.rpartition(".")[0]
    anew.__dict__.update({"__package__": package, "__file__": str(path)})
    exec(compile(one.source, f"{path}.anew", "exec"), anew.__dict__)
    count += _take_defaults(vars(anew), vars(sys.modules[name]), name)
    for there in gc.get_objects():
        if isinstance(there, functools._lru_cache_wrapper):
            there.cache_clear()
    return count


def _in_a_fork(folder: Path, one: Mutant | None, tests: list[str]) -> str:
    """What tests say of a mutant, of none for a look whether they pass at all in a fork."""
    child = os.fork()
    if child == 0:
        code = 1
        try:
            resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS + 5))
            nowhere = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, 1)
            os.dup2(nowhere, 2)
            if one is not None and not _put_in(folder, one):
                os._exit(UNCHANGED)
            code = int(pytest.main([*PYTEST, "-x", *tests]))
        finally:
            os._exit(code)
    until = time.monotonic() + WAITING
    while not (ended := os.waitpid(child, os.WNOHANG))[0]:
        if time.monotonic() > until:
            os.kill(child, signal.SIGKILL)
            os.waitpid(child, 0)
            return "noticed"
        time.sleep(0.05)
    return {0: "passed", UNCHANGED: "cannot be put in"}.get(os.waitstatus_to_exitcode(ended[1]), "noticed")


def main() -> None:
    """Draw mutants and print what the tests let pass."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("room")
    parser.add_argument("tests", nargs="+")
    parser.add_argument("--sample", type=int, default=24)
    parser.add_argument("--seed", type=int, nargs="+", default=[1])
    asked = parser.parse_args()
    everything = mutation._mutants(asked.room)
    drawn = {
        seed: [
            mutation._mutant(path, number)
            for path, number in random.Random(f"{seed} {asked.room}").sample(
                everything, min(asked.sample, len(everything))
            )
        ]
        for seed in asked.seed
    }
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name).resolve()
        mutation._copy(folder)
        reach = mutation._reach(folder, *asked.tests)
        os.environ |= {"CI": "1", "PYTHONDONTWRITEBYTECODE": "1"}
        sys.path.insert(0, str(folder / "src"))
        os.chdir(folder)
        pytest.main([*PYTEST, *asked.tests])
        if _in_a_fork(folder, None, asked.tests) != "passed":
            raise SystemExit("the tests fail in a fork of their process")
        for seed, mutants in drawn.items():
            passed = 0
            for one in mutants:
                tests = mutation._tests_of(one, reach)
                found = _in_a_fork(folder, one, tests) if tests else "reached by none"
                if found != "noticed":
                    passed += 1
                    print(f"{found}: {one.path} {one.number}", flush=True)
            print(f"{asked.room}, seed {seed}: {passed} of {len(mutants)} let pass", flush=True)


if __name__ == "__main__":
    main()

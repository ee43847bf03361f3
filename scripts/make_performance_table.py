"""Run the benches and write their table into docs/performance.md.

    .venv/bin/python scripts/make_performance_table.py

Takes some minutes: the general graph library is slow.
"""

from __future__ import annotations

import json
import os
import platform
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "bench"))

from tables import put_between  # noqa: E402

PAGE = ROOT / "docs" / "performance.md"
MARKS = ("<!-- table: start -->", "<!-- table: end -->")

# bench -> what a reader calls it
TITLES = {
    "test_survey_of_200_notes_over_all_keys_tunings_and_octaves": "survey: 200 notes, 12 keys, 14 tunings, 5 octaves",
    "test_survey_of_200_notes_over_all_keys_and_octaves_of_one_tuning": "survey: the same, the standard tuning only",
    "test_the_same_survey_by_a_graph_library": "the same by a general graph library (networkx)",
    "test_arranging_a_thousand_tunes": "arranging 1,000 folk tunes, one harp each",
    "test_help_starts": "`reedpath --help`, process and all",
    "test_the_whole_demo_from_cold": "`reedpath demo`, process and all",
}


def _seconds(value: float) -> str:
    return f"{1000 * value:.1f} ms" if value < 1 else f"{value:.2f} s"


def _measured() -> dict[str, dict]:
    with tempfile.TemporaryDirectory() as folder:
        found: dict[str, dict] = {}
        for bench in ("bench_commands.py", "bench_arrange.py"):
            out = Path(folder) / f"{bench}.json"
            subprocess.run(
                [sys.executable, "-m", "pytest", str(ROOT / "bench" / bench), "--benchmark-only", "-q",
                 "-p", "no:xdist", f"--benchmark-json={out}"],
                check=True, cwd=ROOT / "bench",
            )  # fmt: skip
            found |= {one["name"]: one for one in json.loads(out.read_text())["benchmarks"]}
    return found


def _table(found: dict[str, dict]) -> str:
    lines = ["| what | median | fastest | peak memory |", "|---|---|---|---|"]
    for name, title in TITLES.items():
        one = found[name]
        memory = one["extra_info"].get("peak_megabytes")
        stats = one["stats"]
        shown = f"{memory} MB" if memory else "-"
        lines.append(f"| {title} | {_seconds(stats['median'])} | {_seconds(stats['min'])} | {shown} |")
    ours = found["test_survey_of_200_notes_over_all_keys_and_octaves_of_one_tuning"]
    theirs = found["test_the_same_survey_by_a_graph_library"]
    ratio = theirs["stats"]["median"] / ours["stats"]["median"]
    lines += [
        "",
        f"The survey of the standard tuning ({ours['extra_info']['cases']} cases) is {ratio:.0f} times as fast as "
        "the same by the graph library, and the ranking is the same.",
        "",
        f"Measured with {os.cpu_count()} cores, Python {platform.python_version()}, {platform.machine()}.",
    ]
    return "\n".join(lines)


def main() -> None:
    """Measure and write."""
    put_between(MARKS, _table(_measured()), PAGE)


if __name__ == "__main__":
    main()

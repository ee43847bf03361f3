"""Speed of the workbench in a real browser: from the click that pins a note to the picture of the settled route.

python bench/workbench_speed.py [NOTES] [--pins N]

The phrase is invented (`bench_others.invented_phrase`). Each pin takes another way of a note somewhere in it; what is
measured is the time from the click on "Play it so" until ribbon, staff and tab show the settled route and the next
frame is drawn, by the browser's own clock. Load and cores are printed with it.
"""

from __future__ import annotations

import argparse
import os
import statistics
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from bench_others import invented_phrase
from reedpath.jobs.workbench import Draft, encode_draft
from reedpath.phrase import performed
from reedpath.shelf import Shelf, new_draft
from support.browsers import started_browser
from support.studios import served_studio

# milliseconds from the click on a way until the frame after the one in which the view of it was put in place
CLICK = """() => new Promise((done) => {
  const bench = document.querySelector(".bench");
  const before = bench.dataset.number;
  const button = document.querySelector("#note .ways button, #note [data-key=unpin]");
  const start = performance.now();
  const seen = new MutationObserver(() => {
    if (bench.dataset.number === before) return;
    seen.disconnect();
    requestAnimationFrame(() => setTimeout(() => done(performance.now() - start)));
  });
  seen.observe(bench, { attributes: true });
  button.click();
})"""


def _measured(notes: int, pins: int, folder: Path) -> list[float]:
    shelf = folder / "shelf.sqlite"
    phrase = performed(invented_phrase(notes, 1))
    with Shelf(shelf, make=True) as opened:
        number = new_draft(opened, encode_draft(Draft(base=phrase, phrase=phrase)))
    found: list[float] = []
    with served_studio(shelf, language="en") as studio, started_browser() as browser:
        page = browser.new_context(bypass_csp=True).new_page()
        page.goto(studio.way_in())
        page.wait_for_timeout(1000)
        page.goto(f"{studio.address}/workbench/{number}")
        page.wait_for_selector(".bench[data-number]")
        page.wait_for_selector(".survey table")
        note = notes // 4
        while len(found) < pins:
            note = (note + 7) % notes
            page.click(f'.bench-tab [data-note="{note}"]')
            page.wait_for_selector(f"#note h3:has-text('Note {note + 1}:')")
            if page.query_selector("#note .ways button"):
                found.append(page.evaluate(CLICK))
                page.wait_for_timeout(300)
    return found


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("notes", type=int, nargs="?", default=200)
    parser.add_argument("--pins", type=int, default=25)
    wanted = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        found = sorted(_measured(wanted.notes, wanted.pins, Path(folder)))
    middle, late = statistics.median(found), found[int(0.95 * (len(found) - 1))]
    load = os.getloadavg()[0]
    print(f"{wanted.notes} notes, {len(found)} pins; load {load:.0f} on {os.cpu_count()} cores")
    print(f"click to settled route: median {middle:.0f} ms, 95 of 100 within {late:.0f} ms, worst {found[-1]:.0f} ms")


if __name__ == "__main__":
    main()

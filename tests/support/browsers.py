"""A real browser without a network, for tests of pages; skipped where there is none."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from pathlib import Path

import pytest

playwright = pytest.importorskip("playwright.sync_api", reason="no playwright to drive a browser with")
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
NEEDS_BROWSER = [
    pytest.mark.story,
    pytest.mark.skipif(CHROMIUM is None, reason="no chromium to open the page in (on Debian: apt install chromium)"),
]

FLAGS = [
    "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--autoplay-policy=no-user-gesture-required",
]  # fmt: skip
SIZES = {"small phone": (360, 740), "phone": (390, 844), "phone on its side": (740, 360), "desktop": (1280, 800)}

# what axe-core finds fault with in the page as it is
VIOLATIONS = """async () => (await axe.run(document, {resultTypes: ['violations'],
  runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']})).violations
  .map((one) => [one.id, one.nodes.slice(0, 3).map((node) => node.html.slice(0, 160))])"""


@contextmanager
def started_browser(
    *, microphone: Path | None = None, driver: playwright.Playwright | None = None
) -> Iterator[playwright.Browser]:
    """A browser that runs as long as it is needed; a WAV file plays into its microphone where one is given.

    driver : that drives other browsers too; one of its own for None.
    """
    flags = list(FLAGS)
    if microphone is not None:
        flags += [
            "--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream",
            f"--use-file-for-fake-audio-capture={microphone}",
        ]  # fmt: skip
    with playwright.sync_playwright() if driver is None else nullcontext(driver) as one:
        opened = one.chromium.launch(executable_path=CHROMIUM, args=flags)
        yield opened
        opened.close()


def wait(page: playwright.Page, condition: str, *, seconds: float = 30.0) -> None:
    """Wait until a condition holds; the page's own policy lets the driver wait for none inside it."""
    for _ in range(round(seconds / 0.02)):
        if page.evaluate(condition):
            return
        page.wait_for_timeout(20)
    raise AssertionError(f"{condition} does not come to hold")

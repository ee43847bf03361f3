"""Pictures of the studio's screens for docs/studio.md: ``python bench/studio_pictures.py [--only NAME]``.

Each is three windows side by side on the demo's shelf: a phone in light and English, a tablet in the dark and French,
a desk in light and English. A panel of a screen is cut out of two windows.
"""

from __future__ import annotations

import argparse
import io
import re
import subprocess
import sys
import time
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

PICTURES = Path(__file__).resolve().parents[1] / "docs" / "pictures"
CHROMIUM = "/usr/bin/chromium"
# width and height of the window, light, language
WINDOWS = ((360, 740, "light", "en"), (820, 1180, "dark", "fr"), (1280, 800, "light", "en"))
# name of the picture and address of the screen
SCREENS = {
    "shelf": "/",
    "phrase": "/phrases/1",
    "workbench": "/workbench/phrases/1",
    "lesson": "/lessons/1",
    "prompter": "/lessons/1/prompter",
    "rehearse": "/rehearse",
    "long-notes": "/rehearse/long-notes",
    "students": "/students",
    "student": "/students/1",
    "work": "/work",
}
# panels: name of the picture, address of the screen, the panel in it; and the windows that they are cut out of
PANELS = {"band": ("/lessons/1", "#band")}
# high enough that nothing is scrolled, and so nothing that stays in sight lies over them
PANEL_WINDOWS = ((1000, 4000, "light", "en"), (430, 6000, "dark", "fr"))
# pixels of height of a finished picture, and between the windows
HEIGHT, BETWEEN = 560, 12


class Opened:
    """The studio with its demo, and a browser's pages of it."""

    def __init__(self, browser: Browser) -> None:
        command = [sys.executable, "-m", "reedpath", "studio", "--demo", "--no-browser"]
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
        assert self.process.stdout is not None
        found = re.search(r"(http://[\d.:]+)(/\?token=\S+)", self.process.stdout.readline())
        assert found is not None
        self.address = found[1]
        context = browser.new_context()
        page = context.new_page()
        page.goto(found[1] + found[2])
        page.wait_for_url(self.address + "/")
        self.state = context.storage_state()
        for _ in range(600):
            page.goto(self.address + "/work")
            if page.locator(".job.done").count():
                break
            time.sleep(0.5)
        self.browser, self.page = browser, page

    def speak(self, language: str) -> None:
        """Let the studio speak a language."""
        self.page.goto(self.address + "/settings")
        self.page.click(f"label[for=language-{language}]")
        self.page.click("main button")

    def window(self, width: int, height: int, light: str) -> Page:
        """A window of a size."""
        size = {"width": width, "height": height}
        return self.browser.new_context(
            viewport=size, color_scheme=light, storage_state=self.state, permissions=["microphone"]
        ).new_page()


def picture_of(opened: Opened, address: str) -> Image.Image:
    """A screen in all windows."""
    shots = []
    for width, height, light, language in WINDOWS:
        opened.speak(language)
        page = opened.window(width, height, light)
        page.goto(opened.address + address)
        page.wait_for_timeout(2500)  # what comes a moment later
        shot = Image.open(io.BytesIO(page.screenshot()))
        shots.append(shot.resize((round(shot.width * HEIGHT / shot.height), HEIGHT), Image.Resampling.LANCZOS))
        page.context.close()
    return beside(shots, "#808080")


def panel_of(opened: Opened, address: str, panel: str) -> Image.Image:
    """A panel of a screen, unfolded, in its windows, the one beside the other."""
    shots = []
    for width, height, light, language in PANEL_WINDOWS:
        opened.speak(language)
        page = opened.window(width, height, light)
        page.goto(opened.address + address)
        page.wait_for_timeout(2500)
        page.evaluate(
            "(panel) => document.querySelectorAll(`${panel} details`).forEach((one) => (one.open = true))", panel
        )
        box = page.locator(panel).bounding_box()
        assert box is not None
        around = {name: box[name] + by * BETWEEN for name, by in (("x", -1), ("y", -1), ("width", 2), ("height", 2))}
        shots.append(Image.open(io.BytesIO(page.screenshot(clip=around))))
        page.context.close()
    return beside(shots, "#ffffff")


def beside(shots: list[Image.Image], ground: str) -> Image.Image:
    """Pictures side by side."""
    width = sum(one.width + BETWEEN for one in shots) - BETWEEN
    whole = Image.new("RGB", (width, max(one.height for one in shots)), ground)
    x = 0
    for one in shots:
        whole.paste(one, (x, 0))
        x += one.width + BETWEEN
    return whole


def main() -> None:
    """Make the pictures."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--only", choices=[*SCREENS, *PANELS])
    wanted = parser.parse_args().only
    with sync_playwright() as driver:
        browser = driver.chromium.launch(
            executable_path=CHROMIUM,
            args=[
                "--no-sandbox",
                "--disable-gpu",
                "--use-fake-ui-for-media-stream",
                "--use-fake-device-for-media-stream",
            ],
        )
        opened = Opened(browser)
        try:
            for name, address in SCREENS.items():
                if wanted in (None, name):
                    picture = picture_of(opened, address).quantize(64, dither=Image.Dither.NONE)
                    picture.save(PICTURES / f"studio-screen-{name}.png", optimize=True)
            for name, (address, panel) in PANELS.items():
                if wanted in (None, name):
                    picture = panel_of(opened, address, panel).quantize(64, dither=Image.Dither.NONE)
                    picture.save(PICTURES / f"studio-{name}.png", optimize=True)
        finally:
            opened.process.send_signal(2)
            opened.process.wait()


if __name__ == "__main__":
    main()

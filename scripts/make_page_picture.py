"""Take the picture of a lesson page anew: ``python scripts/make_page_picture.py``.

It is docs/pictures/lesson-page.png. Needs playwright and a chromium; the phrase is our own invention. Look at the
picture before you keep it.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from io import BytesIO
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, sync_playwright

from reedpath.jobs import HarpChoice, LessonWishes, RouteRequest, read_source
from reedpath.jobs.lesson_pages import lesson_page
from reedpath.jobs.lessons import lesson_from

PICTURE = Path(__file__).resolve().parent.parent / "docs" / "pictures" / "lesson-page.png"
TUNE = b"""X:1
T:Stepping stones (invented)
M:4/4
L:1/8
Q:1/4=96
K:G
P:A
G2 B2 d2 g2 | _B2 G2 D2 z2 | d2 _d2 c2 _B2 | G4 z4 |
P:B
D2 G2 _B2 G2 | c2 _B2 G4 |
"""
# width, height, light or dark, language, seconds that it has played, what is scrolled to; and where each view stands
VIEWS = (
    (360, 752, "light", "en", 7.3, "body"),
    (740, 364, "dark", "en", 4.1, "body"),
    (740, 364, "light", "fr", 1.5, ".told[lang=fr] .block:nth-of-type(2)"),
)
PLACES = ((0, 0), (384, 0), (384, 388))
# device pixels to a CSS pixel, and air around the views, CSS pixels
FINER, AIR = 1.5, 24


def _taken(
    browser: Browser, address: str, width: int, height: int, light: str, language: str, seconds: float, shown: str
) -> Image.Image:
    page = browser.new_page(
        viewport={"width": width, "height": height}, color_scheme=light, device_scale_factor=FINER
    )
    page.goto(address)
    page.click(f".languages button[lang={language}]")
    page.uncheck("#count-in")
    page.locator(".rungs label").last.click()
    page.evaluate("one => document.querySelector(one).scrollIntoView()", shown)
    page.click("#play")
    page.wait_for_timeout(seconds * 1000)
    return Image.open(BytesIO(page.screenshot()))


def main() -> None:
    """Make a page, play it, and keep what is seen."""
    read = read_source(TUNE, name="stones.abc")
    lesson = lesson_from(read, RouteRequest(harp=HarpChoice(key="C")), LessonWishes())
    chromium = shutil.which("chromium") or shutil.which("google-chrome")
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as driver:
        path = Path(folder) / "lesson.html"
        path.write_bytes(lesson_page(lesson))
        browser = driver.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--disable-gpu"])
        shots = [_taken(browser, path.as_uri(), *view) for view in VIEWS]
        browser.close()
    size = (384 + 740 + 2 * AIR, 752 + 2 * AIR)
    whole = Image.new("RGB", tuple(round(FINER * side) for side in size), "#8f8b84")
    for shot, (x, y) in zip(shots, PLACES, strict=True):
        whole.paste(shot, (round(FINER * (AIR + x)), round(FINER * (AIR + y))))
    whole.quantize(128).save(PICTURE, optimize=True)
    sys.stdout.write(f"{PICTURE}, {PICTURE.stat().st_size} bytes\n")


if __name__ == "__main__":
    main()

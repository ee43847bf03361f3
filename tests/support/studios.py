"""A studio that is served in this process, for a real browser; and one that is asked without a server."""

from __future__ import annotations

import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
import uvicorn
from starlette.testclient import TestClient

from reedpath.studio import OpenShelf, make_app
from reedpath.studio.guard import Guard
from reedpath.studio.pages import Studio
from reedpath.studio.running_jobs import RunningJob
from reedpath.studio.serving import listen_at, server_settings

if TYPE_CHECKING:
    from support.browsers import playwright

# sizes that the studio's pages are looked at in, in pixels
SIZES = {"small phone": (360, 740), "tablet": (820, 1180), "desk": (1280, 800)}
# what reaches farther to the right than the window
WIDER = """[...document.body.querySelectorAll("*")]
  .filter((one) => one.getBoundingClientRect().right > innerWidth + 0.5).slice(0, 5)
  .map((one) => one.outerHTML.slice(0, 200))"""
# that a studio without a server is asked at
PORT = 52799
ADDRESS = f"http://127.0.0.1:{PORT}"


@dataclass
class AskedStudio:
    """A studio that is asked without a server, by who was let in."""

    client: TestClient
    guard: Guard
    studio: Studio

    def post(self, path: str, data: dict[str, str | list[str]] | None = None, **headers: str):
        """Send a form, as a page of the studio does; what comes of it, redirects followed."""
        return self.client.post(path, data=data or {}, headers={"origin": ADDRESS, **headers})

    def ended(self, number: int) -> RunningJob:
        """A job when it has ended; who waits for it by asking takes the processor from it."""
        job = self.studio.jobs.get(number)
        self.client.portal.call(job.ended.wait)  # type: ignore[union-attr]
        return job


@contextmanager
def asked_studio(shelf: Path, *, language: str = "en", demo: bool = False) -> Iterator[AskedStudio]:
    """A studio over a shelf, without a server."""
    opened = OpenShelf(shelf)
    try:
        guard, app = make_app(opened, port=PORT, language=language, demo=demo)
        with TestClient(guard, base_url=ADDRESS, raise_server_exceptions=False) as client:
            client.get(f"/?token={guard.new_token()}")
            yield AskedStudio(client, guard, app.state.studio)
    finally:
        opened.close()


@dataclass
class ServedStudio:
    """A studio that is served: its address, its shelf, and a new address that lets a browser in."""

    address: str
    guard: Guard
    shelf: OpenShelf

    def way_in(self) -> str:
        """An address that lets one browser in."""
        return f"{self.address}/?token={self.guard.new_token()}"


@contextmanager
def served_studio(shelf: Path, *, language: str = "en") -> Iterator[ServedStudio]:
    """A studio over a shelf, served from a thread of this process."""
    listening, opened = listen_at(0), OpenShelf(shelf)
    port = listening.getsockname()[1]
    guard, _app = make_app(opened, port=port, language=language)
    server = uvicorn.Server(server_settings(guard))
    thread = threading.Thread(target=server.run, args=([listening],))
    thread.start()
    while not server.started and thread.is_alive():
        thread.join(0.02)
    try:
        yield ServedStudio(f"http://127.0.0.1:{port}", guard, opened)
    finally:
        server.should_exit = True
        thread.join()
        listening.close()
        opened.close()


@contextmanager
def studio_page(
    studio: ServedStudio,
    browser: playwright.Browser,
    *,
    permissions: Sequence[str] = (),
    before: str = "",
    locale: str = "en-GB",
) -> Iterator[playwright.Page]:
    """A page of a browser that was let in; no script may fail on it, and it may ask nobody but the studio.

    before : a script that runs before those of the page.
    """
    context = browser.new_context(locale=locale, permissions=list(permissions))
    wrong: list[str] = []
    asked: list[str] = []
    context.on("request", lambda request: asked.append(request.url))
    page = context.new_page()
    page.set_default_timeout(90_000)
    page.on("pageerror", lambda error: wrong.append(str(error)))
    if before:
        page.add_init_script(before)
    page.goto(studio.way_in())
    page.wait_for_url(studio.address + "/")
    yield page
    assert wrong == []
    own = (studio.address, studio.address.replace("http", "ws"), "blob:", "data:")
    assert [url for url in asked if not url.startswith(own)] == []
    context.close()


@contextmanager
def in_language(page: playwright.Page, studio: ServedStudio, language: str) -> Iterator[None]:
    """The studio in a language that its settings name; in the usual one again afterwards."""
    for choice in (language, "usual"):
        page.goto(studio.address + "/settings")
        page.click(f"label[for=language-{choice}]")
        page.click("main button")
        if choice == language:
            assert page.get_attribute("html", "lang") == language
            yield


def assert_fitting(page: playwright.Page) -> None:
    """At no size does anything run out of a page to the side."""
    for width, height in SIZES.values():
        page.set_viewport_size({"width": width, "height": height})
        assert page.evaluate("document.documentElement.scrollWidth") <= width, (page.url, page.evaluate(WIDER))


def assert_accessible_and_fitting(page: playwright.Page) -> None:
    """Axe finds nothing in a page as it is, pictures stand out, and at no size does anything run out to the side."""
    from support.browsers import VIOLATIONS
    from support.svg_contrast import assert_pictures_stand_out

    axe = pytest.importorskip("axe_playwright_python.base", reason="no axe-playwright-python").AXE_SCRIPT
    page.evaluate(axe)
    assert page.evaluate(VIOLATIONS) == []
    assert_pictures_stand_out(page)
    assert_fitting(page)

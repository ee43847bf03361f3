"""Serving: the studio on the loopback address, from its start until it is interrupted."""

from __future__ import annotations

import asyncio
import contextlib
import socket
import sys
import threading
from collections.abc import Callable
from pathlib import Path

import uvicorn

from reedpath.errors import SettingsError
from reedpath.studio.app import make_app
from reedpath.studio.guard import Guard
from reedpath.studio.open_shelf import OpenShelf

HOST = "127.0.0.1"
# where the studio is looked for first; ours, from the dynamic range of RFC 6335, which nobody is given
PORT = 52740
# ports that are tried after it
PORTS = 20
# bytes of one message that a page sends; a phrase of 5,000 bars has some 500,000
MOST_MESSAGE_BYTES = 2_000_000
# seconds that open pages have for ending
END_SECONDS = 2


def listen_at(port: int | None) -> socket.socket:
    """A socket that listens at a port, or at the first free one from `PORT` on."""
    for one in range(PORT, PORT + PORTS) if port is None else (port,):
        # of TCP by name, or asyncio does not let small answers go at once, and each waits 40 ms
        made = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
        try:
            if sys.platform != "win32":  # there it would let two programs have one port
                made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            made.bind((HOST, one))
        except (OSError, OverflowError):
            made.close()
            continue
        return made
    raise SettingsError("studio.port_taken", port=str(PORT if port is None else port))


def server_settings(guard: Guard) -> uvicorn.Config:
    """How the studio is served: nothing is logged, messages are bounded, and an end waits for no open page."""
    return uvicorn.Config(
        guard,
        log_level="critical",
        access_log=False,
        ws="websockets-sansio",
        ws_max_size=MOST_MESSAGE_BYTES,
        ws_per_message_deflate=False,
        timeout_graceful_shutdown=END_SECONDS,
        server_header=False,
        lifespan="on",
    )


class StudioServer(uvicorn.Server):
    """The server, which tells when it answers."""

    def __init__(self, config: uvicorn.Config, when_ready: Callable[[], None]) -> None:
        super().__init__(config)
        self._when_ready = when_ready

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Begin to answer."""
        await super().startup(sockets)
        if self.started:
            self._when_ready()


def _new_address(guard: Guard) -> str:
    return f"http://{HOST}:{guard.port}/?token={guard.new_token()}"


def _address_for_each_line(guard: Guard, tell: Callable[[str], None]) -> None:
    """A new address whenever Enter is pressed, since each lets one browser in."""
    with contextlib.suppress(OSError, ValueError):
        for _line in sys.stdin:
            tell(_new_address(guard))


def serve_studio(
    shelf: Path | None,
    *,
    port: int | None,
    language: str,
    tell: Callable[[str], None],
    demo: bool = False,
) -> None:
    """Open a shelf and serve the studio until the program is interrupted.

    shelf : path of the shelf; None for the user's own.
    port : None for a free one.
    language : of the pages; empty for what is kept.
    tell : called with an address that lets one browser in.
    demo : whether invented phrases, students and takes are put on it first; the shelf must be new.

    Raises `ReedpathError` when the shelf can't be opened, or the port not be had.
    """
    listening = listen_at(port)
    try:
        opened = OpenShelf(shelf)
        try:
            guard, _app = make_app(opened, port=listening.getsockname()[1], language=language, demo=demo)
            server = StudioServer(server_settings(guard), lambda: tell(_new_address(guard)))
            if sys.stdin is not None and sys.stdin.isatty():
                threading.Thread(target=_address_for_each_line, args=(guard, tell), daemon=True).start()
            with contextlib.suppress(KeyboardInterrupt, asyncio.CancelledError):
                server.run([listening])
        finally:
            opened.close()
    finally:
        listening.close()

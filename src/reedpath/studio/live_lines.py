"""Live lines: blocks of sound from a page to a tracker in a process of its own, and what it hears back.

A page that sends what is no block, more than there is sound, or more than is answered, is cut off.
"""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable
from contextlib import suppress

from msgspec.structs import replace
from starlette.routing import WebSocketRoute
from starlette.websockets import WebSocket, WebSocketDisconnect

from reedpath.errors import ReedpathError, SettingsError
from reedpath.jobs import listen_live
from reedpath.jobs.long_notes import LongNote
from reedpath.jobs.rehearsing import Rehearsal
from reedpath.listen import BLOCK_BYTES, BLOCK_FRAMES, LiveAsked
from reedpath.listen.live_sessions import HIGHEST_RATE, LOWEST_RATE
from reedpath.studio.forms import SentForm, whole_number
from reedpath.studio.pages import studio_of
from reedpath.studio.processes import ChildProcess

# lines that may be open at a time: each has a process
AT_ONCE = 4
# seconds of sound that may come at once after a page was held up, and share of more sound than time that clocks allow
BURST_SECONDS, CLOCKS_SHARE = 1.0, 1.05
# blocks that may wait for their answers; a page of ours lets 12
UNANSWERED = 64
# seconds after which a page that sends nothing is given up
SILENT_SECONDS = 30.0
# what a socket is closed with (RFC 6455, 7.4.1): policy violation, and going on is not possible
NOT_SO, FAILED = 1008, 1011


class BlockFlow:
    """Counts blocks, so that no more come than there is sound, nor more than are answered.

    rate : of the sound, hertz. clock : seconds.
    """

    def __init__(self, rate: int, clock: Callable[[], float] = time.monotonic) -> None:
        self._per_second = CLOCKS_SHARE * rate / BLOCK_FRAMES
        self._most = BURST_SECONDS * rate / BLOCK_FRAMES
        self._clock, self._at = clock, clock()
        self._free = self._most
        self.unanswered = 0

    def takes(self) -> bool:
        """Whether one more block may come now; it is counted."""
        now = self._clock()
        self._free = min(self._most, self._free + (now - self._at) * self._per_second)
        self._at = now
        self._free -= 1.0
        self.unanswered += 1
        return self._free >= 0.0 and self.unanswered <= UNANSWERED


def _asked(socket: WebSocket) -> LiveAsked:
    """What a page wants to be listened to for; SettingsError for what it may not ask."""
    said = SentForm(list(socket.query_params.multi_items()))
    rate = whole_number(said.get("rate"))
    if not LOWEST_RATE <= rate <= HIGHEST_RATE:
        raise SettingsError("listen.live_rate", rate=rate, least=LOWEST_RATE, most=HIGHEST_RATE)
    if said.has("rehearsal"):
        made = studio_of(socket).jobs.get(whole_number(said.get("rehearsal"))).result
        if not isinstance(made, Rehearsal):
            raise SettingsError("studio.not_found")
        return replace(made.asked, rate=rate)
    return replace(
        LongNote.of(said.get("harp"), said.get("tuning"), said.get("move"), said.get("tolerance")).asked, rate=rate
    )


async def _answer(process: ChildProcess, socket: WebSocket, flow: BlockFlow) -> None:
    """Pass on what is heard, until there is no more."""
    is_ready = False
    while (answer := await process.receive()) is not None:
        if is_ready:
            flow.unanswered -= 1
        is_ready = True
        await socket.send_text(answer.decode())
    await socket.close(FAILED)


async def _listen(process: ChildProcess, socket: WebSocket, flow: BlockFlow) -> None:
    """Take blocks, until the page goes away or is cut off."""
    while True:
        try:
            message = await asyncio.wait_for(socket.receive(), SILENT_SECONDS)
        except TimeoutError:
            message = {"type": "websocket.receive"}
        if message["type"] != "websocket.receive":
            return
        block = message.get("bytes")
        if block is None or len(block) != BLOCK_BYTES or not flow.takes():
            await socket.close(NOT_SO)
            return
        await process.send(block)


async def live(socket: WebSocket) -> None:
    """WebSocket /live: blocks of the microphone in, what is heard out."""
    open_lines = socket.app.state.live_lines = getattr(socket.app.state, "live_lines", 0)
    try:
        asked = _asked(socket)
    except ReedpathError:
        await socket.close(NOT_SO)
        return
    if open_lines >= AT_ONCE:
        await socket.close(NOT_SO)
        return
    socket.app.state.live_lines += 1
    process, answering = None, None
    try:
        await socket.accept()
        process, flow = await ChildProcess.start(listen_live, asked), BlockFlow(asked.rate)
        answering = asyncio.create_task(_answer(process, socket, flow))
        with suppress(BrokenPipeError, ConnectionResetError, WebSocketDisconnect, RuntimeError):
            await _listen(process, socket, flow)
    finally:
        socket.app.state.live_lines -= 1
        if answering is not None:
            answering.cancel()
            with suppress(asyncio.CancelledError, WebSocketDisconnect, RuntimeError):
                await answering
        if process is not None:
            await process.end()


ROUTES = [WebSocketRoute("/live", live)]

"""Listening live: a session in a process of its own, which speaks by a channel of bytes.

So whoever holds the other end (a socket, a test) needs to know nothing of sound.
"""

from __future__ import annotations

from typing import Protocol

import msgspec

from reedpath.listen import LiveAsked, LiveSession

__all__ = ["listen_live"]


class LiveChannel(Protocol):
    """The end of a channel that a session has."""

    def receive(self) -> bytes | None:
        """The next message; None when there will be no more."""

    def send(self, message: bytes) -> None:
        """Send a message."""


def listen_live(channel: LiveChannel, asked: LiveAsked) -> None:
    """Listen until the other end goes away; the first message says that all is warm: ``{"ready": true}``."""
    session = LiveSession(asked)
    session.warm()
    channel.send(b'{"ready":true}')
    while True:
        message = channel.receive()
        if message is None:
            return
        channel.send(msgspec.json.encode(session.answer(message)))

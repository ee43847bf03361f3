"""Listening live: a session in a process of its own, which speaks by a channel of bytes.

So whoever holds the other end (a socket, a test) needs to know nothing of sound.
"""

from __future__ import annotations

import msgspec

from reedpath.jobs.conversations import Channel
from reedpath.listen import LiveAsked, LiveSession


def listen_live(channel: Channel, asked: LiveAsked) -> None:
    """Listen until the other end goes away; the first message says that all is warm: ``{"ready": true}``."""
    session = LiveSession(asked)
    session.warm()
    channel.send(b'{"ready":true}')
    while (message := channel.receive()) is not None:
        channel.send(msgspec.json.encode(session.answer(message)))

"""Parts as music21 reads them, made fit to be compared."""

from __future__ import annotations

from typing import Any

__all__ = ["ties_joined"]


def ties_joined(part: Any) -> Any:
    """A part of music21's with tied notes as one; itself where none is tied, since looking for ties takes long."""
    notes = [single for one in part.recurse().notes for single in (one, *getattr(one, "notes", ()))]
    return part.stripTies() if any(one.tie is not None for one in notes) else part

"""The look of an engraved score: its width, its size, the room around the tab."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["ScoreLook"]


@dataclass(frozen=True, slots=True)
class ScoreLook:
    """How wide and how large a score is engraved.

    width_mm : width of the music, millimetres.
    staff_mm : height of a staff, millimetres; 7 is common in printed parts (common practice, no source).
    page_height_mm : height at which a page ends, millimetres; None for one endless page.
    system_pages : whether every system is a page of its own, for a text to flow around.
    """

    width_mm: float = 180.0
    staff_mm: float = 6.4
    page_height_mm: float | None = None
    system_pages: bool = False

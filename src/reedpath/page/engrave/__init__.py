"""Engraving: a score in MusicXML drawn as SVG."""

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face

if TYPE_CHECKING:
    from reedpath.page.engrave.engraver import Engraving, ScoreLook, engrave_pages, engrave_score
else:
    __getattr__ = lazy_face(__name__)

__all__ = ["Engraving", "ScoreLook", "engrave_pages", "engrave_score"]

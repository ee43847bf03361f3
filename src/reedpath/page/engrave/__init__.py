"""Engraving: a score in MusicXML drawn as SVG."""

from reedpath.page.engrave.engraver import Engraving, engrave_pages, engrave_score
from reedpath.page.engrave.look import ScoreLook

__all__ = ["Engraving", "ScoreLook", "engrave_pages", "engrave_score"]

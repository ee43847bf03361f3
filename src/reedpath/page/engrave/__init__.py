"""Engraving: a score in MusicXML drawn as SVG."""

from reedpath.page.engrave.engraver import Engraving, ScoreLook, engrave_pages, engrave_score

__all__ = ["Engraving", "ScoreLook", "engrave_pages", "engrave_score"]

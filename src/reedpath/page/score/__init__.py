"""The score: a route as staff notation with tab, in MusicXML."""

from reedpath.page.score.musicxml import encode_musicxml

__all__ = ["encode_musicxml"]

"""Engraving: a score in MusicXML drawn as SVG."""

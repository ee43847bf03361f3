"""The shelf: where phrases, lessons, students and takes are kept, and how a tune is found again by a few notes."""

from reedpath.shelf.tune_search import Melody, TuneFound, TuneIndex, melody_of, more_notes_wanted

__all__ = ["Melody", "TuneFound", "TuneIndex", "melody_of", "more_notes_wanted"]

"""A tune to be looked for, from a source or from a recording of a few notes, played or sung."""

from __future__ import annotations

from pathlib import Path

from reedpath.errors import Place, ReedpathError, SettingsError
from reedpath.jobs.disk import read_bytes
from reedpath.jobs.sources import read_source_file
from reedpath.readers import DEFAULT_LIMITS, find_reader
from reedpath.shelf import FEWEST_NOTES, MOST_NOTES, Melody, melody_of

__all__ = ["tune_from"]


def _is_source(path: Path) -> bool:
    """Whether a reader knows a file; else it is taken for a recording."""
    try:
        find_reader(read_bytes(path, most_bytes=DEFAULT_LIMITS.source_bytes), name=str(path))
    except ReedpathError as error:
        if error.key in ("jobs.no_file", "jobs.is_folder"):
            raise
        return False
    return True


def tune_from(path: Path) -> Melody:
    """The melody of a source, or what is heard in a recording; its first notes where it has many.

    Raises
    ------
    ReedpathError
        When neither can be read, or too few notes are in it.
    """
    if _is_source(path):
        phrase = read_source_file(path).phrase
    else:
        from reedpath.jobs.hearing import HearingChoice, write_down_recording

        phrase = write_down_recording(path, HearingChoice()).phrase
    melody = melody_of(phrase)
    if len(melody.midi) < FEWEST_NOTES:
        raise SettingsError(
            "shelf.note_count",
            where=Place(file=str(path)),
            count=len(melody.midi),
            fewest=FEWEST_NOTES,
            most=MOST_NOTES,
        )
    return Melody(melody.midi[:MOST_NOTES], melody.lengths[:MOST_NOTES])

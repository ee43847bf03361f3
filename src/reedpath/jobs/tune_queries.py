"""A tune to be looked for, from a source or from a recording of a few notes, played or sung."""

from __future__ import annotations

from pathlib import Path

from reedpath.errors import Place, ReedpathError, SettingsError
from reedpath.jobs.disk import read_bytes
from reedpath.jobs.sources import read_source
from reedpath.readers import DEFAULT_LIMITS, find_reader
from reedpath.shelf import FEWEST_NOTES, MOST_NOTES, Melody, melody_of


def _source_in(path: Path) -> bytes | None:
    """What a file holds where a reader knows it; None where it is to be taken for a recording."""
    try:
        data = read_bytes(path, most_bytes=DEFAULT_LIMITS.source_bytes)
        find_reader(data, name=str(path))
    except ReedpathError as error:
        if error.key in ("jobs.no_file", "jobs.is_folder"):
            raise
        return None
    return data


def tune_from(path: Path) -> Melody:
    """The melody of a source, or what is heard in a recording; its first notes where it has many.

    Raises `ReedpathError` when neither can be read, or too few notes are in it.
    """
    source = _source_in(path)
    if source is not None:
        phrase = read_source(source, name=str(path)).phrase
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

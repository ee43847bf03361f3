"""A cut as an OpenTimelineIO file, for programs that edit films; written by that project's own library."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

from reedpath.errors import FilmError
from reedpath.film.film_cut import CutKind, CutPiece, FilmCut, checked_cut, on_pictures

# where our own facts stand in the file's metadata
OURS = "reedpath"


def _library() -> Any:
    try:
        import opentimelineio
    except ImportError as error:
        raise FilmError("film.no_timeline_library") from error
    return opentimelineio


def _span(otio: Any, start: float, end: float, rate: Fraction) -> Any:
    """From a second to another, in whole pictures."""
    first, last = round(start * rate), round(end * rate)
    per_second = float(rate)
    return otio.opentime.TimeRange(
        otio.opentime.RationalTime(first, per_second), otio.opentime.RationalTime(last - first, per_second)
    )


def _name(piece: CutPiece) -> str:
    """What a stretch is called: its parts and tempo, or what is in it."""
    if piece.kind is not CutKind.PLAY:
        return piece.kind.value
    return " ".join(one for one in (piece.part, piece.tempo) if one) or piece.kind.value


def encode_timeline(
    cut: FilmCut, films: Sequence[Path], rates: Sequence[Fraction], *, title: str, filmed: Sequence[bool] = ()
) -> bytes:
    """What stays, as a timeline of one track of pictures and one of sound, each stretch a clip of its film.

    films : of the cut, in its order. rates : pictures a second of each.
    filmed : whether each has pictures, all where nothing is said; what no camera saw is a gap in the pictures.

    Raises `FilmError` for a cut that is none, and when the library is not installed.
    """
    otio = _library()
    whole = checked_cut(on_pictures(cut, [float(rate) for rate in rates]))
    timeline = otio.schema.Timeline(name=title)
    pictures = otio.schema.Track(name="pictures", kind=otio.schema.TrackKind.Video)
    sound = otio.schema.Track(name="sound", kind=otio.schema.TrackKind.Audio)
    timeline.tracks.extend([pictures, sound])

    def clip(piece: CutPiece, film: int, start: float, end: float) -> Any:
        media = otio.schema.ExternalReference(
            target_url=films[film].resolve().as_uri(),
            available_range=_span(otio, 0.0, whole.lengths[film], rates[film]),
        )
        made = otio.schema.Clip(
            name=_name(piece), media_reference=media, source_range=_span(otio, start, end, rates[film])
        )
        made.metadata[OURS] = {"kind": piece.kind.value, "why": piece.why.value}
        return made

    for piece in whole.pieces:
        if not piece.keep or piece.seconds <= 0:
            continue
        start, end = piece.start_seconds, piece.end_seconds
        clock = whole.clock(piece.film, piece.shown)
        assert clock is not None
        if filmed and not filmed[piece.shown]:
            pictures.append(otio.schema.Gap(source_range=_span(otio, start, end, rates[piece.film])))
        else:
            pictures.append(clip(piece, piece.shown, clock.there(start), clock.there(end)))
        sound.append(clip(piece, piece.film, start, end))
    written: str = otio.adapters.write_to_string(timeline, "otio_json")
    return written.encode()

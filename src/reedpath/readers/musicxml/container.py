"""Containers: the score inside a compressed MusicXML file (.mxl), taken out without trusting the archive.

Source: MusicXML 4.0, "Compressed .MXL files" (W3C, 2021): a zip archive whose META-INF/container.xml names the score.
"""

from __future__ import annotations

import io
import zipfile
import zlib

from reedpath.errors import ReadError
from reedpath.readers.limits import Limits
from reedpath.readers.musicxml.safe_xml import parse_xml

__all__ = ["ZIP_MARK", "unpack_score"]

# first bytes of a zip archive, and of an entry of its directory; APPNOTE.TXT of the zip format, 4.3
ZIP_MARK = b"PK\x03\x04"
_ENTRY_MARK = b"PK\x01\x02"
_CONTAINER = "META-INF/container.xml"
# bytes; the container of a real score has some hundred
_LARGEST_CONTAINER = 65_536
_ENCRYPTED = 0x1
_METHODS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
# what zipfile raises on archives that are cut, faked or newer than it
_ZIP_FAULTS = (zipfile.BadZipFile, zlib.error, EOFError, OSError, RuntimeError, ValueError, NotImplementedError)


def _read(archive: zipfile.ZipFile, name: str, *, most: int, limits: Limits) -> bytes:
    try:
        entry = archive.getinfo(name)
    except KeyError:
        raise ReadError(f"the compressed score holds no file {name!r}") from None
    if entry.flag_bits & _ENCRYPTED:
        raise ReadError("the compressed score is encrypted", where=name, hint="save it without a password")
    if entry.compress_type not in _METHODS:
        raise ReadError("packed by a method that MusicXML does not use", where=name, hint="pack it by deflate")
    if entry.file_size > max(limits.unpack_ratio * max(entry.compress_size, 1), _LARGEST_CONTAINER):
        raise ReadError(
            f"{entry.compress_size:,} bytes that unpack to {entry.file_size:,}, over the {limits.unpack_ratio} times "
            "that a score may",
            where=name,
        )
    limits.check("unpacked_bytes", entry.file_size, what="bytes unpacked", where=name)
    with archive.open(entry) as file:
        data = file.read(min(most, entry.file_size) + 1)
    if len(data) > most:
        raise ReadError(f"over {most:,} bytes", where=name)
    return data


def _score_name(container: bytes, *, limits: Limits) -> str:
    root = parse_xml(container, limits=limits, what=_CONTAINER)
    for rootfile in root.iter("rootfile"):
        kind = rootfile.get("media-type", "")
        path = rootfile.get("full-path", "")
        if path and (not kind or "musicxml" in kind):
            if path.startswith(("/", "\\")) or ".." in path.replace("\\", "/").split("/"):
                raise ReadError(f"the container points outside itself, to {path[:80]!r}", where=_CONTAINER)
            return path
    raise ReadError("the container names no MusicXML score", where=_CONTAINER)


def unpack_score(data: bytes, *, limits: Limits) -> bytes:
    """The bytes of the score in a .mxl archive.

    Raises
    ------
    ReadError
        When the archive is broken, encrypted, names no score, or would unpack to more than the limits allow.
    """
    limits.check("packed_files", data.count(_ENTRY_MARK), what="files in the archive")
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            container = _read(archive, _CONTAINER, most=_LARGEST_CONTAINER, limits=limits)
            score = _read(archive, _score_name(container, limits=limits), most=limits.unpacked_bytes, limits=limits)
    except _ZIP_FAULTS as error:
        raise ReadError(f"the archive cannot be unpacked: {error}") from error
    if score.startswith(ZIP_MARK):
        raise ReadError("the compressed score holds another archive where its score should be")
    return score

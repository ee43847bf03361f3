"""Documents opened safely: a score's elements, out of its archive if it is compressed, only as far as that is safe.

Compressed scores (MusicXML 4.0, "Compressed .MXL files", W3C, 2021) are zip archives whose META-INF/container.xml
names the score. Nothing outside the source is fetched; an archive that would unpack too far is refused, and so is a
document that declares entities (entity bombs need them), or is nested or filled beyond the limits. Elements that say
nothing of what is played (fonts, pages, stems) are counted and passed over.
"""

from __future__ import annotations

import io
import xml.etree.ElementTree as ElementTree
import zipfile
import zlib
from xml.parsers import expat

from reedpath.errors import Place, ReadError
from reedpath.readers.limits import Limits

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
# elements left out with all that they hold; MusicXML 4.0
_PASSED_OVER = frozenset({
    "defaults", "credit", "print", "appearance", "beam", "stem", "accidental", "notehead-text", "play", "listen",
    "listening", "instrument", "midi-device", "midi-instrument", "group", "part-group", "part-link", "footnote",
    "level", "harp-pedals", "scordatura", "image", "symbol", "accordion-registration", "staff-divide", "bookmark",
    "link", "grouping", "measure-style", "part-symbol", "directive", "measure-layout", "player",
})  # fmt: skip
# bytes given to the parser at a time
_CHUNK = 65_536


class _SafeTree:
    """Handlers of the parser, and the tree that they build."""

    def __init__(self, parser: expat.XMLParserType, *, limits: Limits) -> None:
        self.parser = parser
        self.limits = limits
        self.builder = ElementTree.TreeBuilder()
        self.depth = 0
        self.count = 0
        self.hidden = 0
        parser.StartElementHandler = self.start
        parser.EndElementHandler = self.end
        parser.CharacterDataHandler = self.text
        parser.EntityDeclHandler = self.refuse_entity
        parser.ExternalEntityRefHandler = self.refuse_reference

    @property
    def place(self) -> Place:
        return Place(line=self.parser.CurrentLineNumber)

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        tag = tag.rpartition(":")[2]
        self.depth += 1
        self.count += 1
        if self.depth > self.limits.nesting or self.count > self.limits.elements:
            self.limits.check("nesting", self.depth, what="levels", where=self.place)
            self.limits.check("elements", self.count, what="elements", where=self.place)
        if self.hidden or tag in _PASSED_OVER:
            self.hidden += 1
        else:
            self.builder.start(tag, attributes)

    def end(self, tag: str) -> None:
        self.depth -= 1
        if self.hidden:
            self.hidden -= 1
        else:
            self.builder.end(tag.rpartition(":")[2])

    def text(self, data: str) -> None:
        if not self.hidden:
            self.builder.data(data)

    def refuse_entity(self, name: str, *_: object) -> None:
        raise ReadError("readers.declares_entity", where=self.place, name=name)

    def refuse_reference(self, *_: object) -> int:
        raise ReadError("readers.calls_for_another", where=self.place)


def parse_xml(data: bytes, *, limits: Limits, file: str = "") -> ElementTree.Element:
    """The elements of a document, as far as a phrase can use them; tags without their prefix.

    Raises `ReadError`, naming the line, when the document is not well formed, declares entities, or is over the
    limits.
    """
    parser = expat.ParserCreate()
    parser.buffer_text = True
    parser.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)
    tree = _SafeTree(parser, limits=limits)
    try:
        for start in range(0, len(data), _CHUNK):
            parser.Parse(data[start : start + _CHUNK])
        parser.Parse(b"", True)  # noqa: FBT003 - expat takes no keywords
        return tree.builder.close()
    except expat.ExpatError as error:
        where = Place(file=file, line=error.lineno, column=error.offset + 1)
        raise ReadError("readers.not_well_formed", where=where, problem=expat.ErrorString(error.code)) from error
    except (ValueError, LookupError, AssertionError) as error:  # an encoding that Python knows otherwise
        raise ReadError("readers.cannot_decode", where=tree.place, problem=str(error)) from error


def _read(archive: zipfile.ZipFile, name: str, *, most: int, limits: Limits) -> bytes:
    where = Place(file=name)
    try:
        entry = archive.getinfo(name)
    except KeyError:
        raise ReadError("readers.no_file_in_archive", name=name) from None
    if entry.flag_bits & _ENCRYPTED:
        raise ReadError("readers.encrypted", where=where)
    if entry.compress_type not in _METHODS:
        raise ReadError("readers.other_packing", where=where)
    if entry.file_size > max(limits.unpack_ratio * max(entry.compress_size, 1), _LARGEST_CONTAINER):
        raise ReadError(
            "readers.unpacks_too_far",
            where=where,
            packed=entry.compress_size,
            unpacked=entry.file_size,
            times=limits.unpack_ratio,
        )
    limits.check("unpacked_bytes", entry.file_size, what="bytes-unpacked", where=where)
    with archive.open(entry) as file:
        data = file.read(min(most, entry.file_size) + 1)
    if len(data) > most:
        raise ReadError("readers.too_many_bytes", where=where, most=most)
    return data


def _score_name(container: bytes, *, limits: Limits) -> str:
    where = Place(file=_CONTAINER)
    root = parse_xml(container, limits=limits, file=_CONTAINER)
    for rootfile in root.iter("rootfile"):
        kind = rootfile.get("media-type", "")
        path = rootfile.get("full-path", "")
        if path and (not kind or "musicxml" in kind):
            if path.startswith(("/", "\\")) or ".." in path.replace("\\", "/").split("/"):
                raise ReadError("readers.points_outside", where=where, path=path)
            return path
    raise ReadError("readers.names_no_score", where=where)


def unpack_score(data: bytes, *, limits: Limits) -> bytes:
    """The bytes of the score in a .mxl archive.

    Raises `ReadError` when the archive is broken, encrypted, names no score, or would unpack to more than the limits
    allow.
    """
    limits.check("packed_files", data.count(_ENTRY_MARK), what="files-in-archive")
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            container = _read(archive, _CONTAINER, most=_LARGEST_CONTAINER, limits=limits)
            score = _read(archive, _score_name(container, limits=limits), most=limits.unpacked_bytes, limits=limits)
    except _ZIP_FAULTS as error:
        raise ReadError("readers.cannot_unpack", problem=str(error)) from error
    if score.startswith(ZIP_MARK):
        raise ReadError("readers.archive_in_archive")
    return score


def open_document(data: bytes, *, limits: Limits) -> ElementTree.Element:
    """The root of a score's document, plain or compressed; ReadError as `unpack_score` and `parse_xml` raise it."""
    if data.startswith(ZIP_MARK):
        data = unpack_score(data, limits=limits)
    return parse_xml(data, limits=limits)

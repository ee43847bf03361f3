"""XML parsed only as far as it is safe, and only what a phrase can use.

Nothing outside the source is fetched; a document that declares entities is refused (entity bombs need them), and so
is one nested or filled beyond the limits. Elements that say nothing of what is played (fonts, pages, stems)
are counted and passed over.
"""

from __future__ import annotations

import xml.etree.ElementTree as ElementTree
from xml.parsers import expat

from reedpath.errors import ReadError
from reedpath.readers.limits import Limits

__all__ = ["parse_xml"]

# elements left out with all that they hold; MusicXML 4.0
_PASSED_OVER = frozenset(
    (
        "defaults",
        "credit",
        "print",
        "appearance",
        "beam",
        "stem",
        "accidental",
        "notehead-text",
        "play",
        "listen",
        "listening",
        "instrument",
        "midi-device",
        "midi-instrument",
        "group",
        "part-group",
        "part-link",
        "footnote",
        "level",
        "harp-pedals",
        "scordatura",
        "image",
        "symbol",
        "accordion-registration",
        "staff-divide",
        "bookmark",
        "link",
        "grouping",
        "measure-style",
        "part-symbol",
        "directive",
        "measure-layout",
        "player",
    )
)
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
    def place(self) -> str:
        return f"line {self.parser.CurrentLineNumber}"

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        tag = tag.rpartition(":")[2]
        self.depth += 1
        self.count += 1
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
        raise ReadError(f"the document declares an entity, {name[:40]!r}, which scores do not need", where=self.place)

    def refuse_reference(self, *_: object) -> int:
        raise ReadError("the document calls for another one", where=self.place)


def parse_xml(data: bytes, *, limits: Limits, what: str = "") -> ElementTree.Element:
    """The elements of a document, as far as a phrase can use them; tags without their prefix.

    Raises
    ------
    ReadError
        Naming the line, when the document is not well formed, declares entities, or is over the limits.
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
        fault = expat.ErrorString(error.code)
        where = f"line {error.lineno}, column {error.offset + 1}"
        raise ReadError(f"not well-formed XML: {fault}", where=f"{what}, {where}" if what else where) from error
    except (ValueError, LookupError, AssertionError) as error:  # an encoding that Python knows otherwise
        raise ReadError(f"the document cannot be decoded: {error}", where=tree.place) from error

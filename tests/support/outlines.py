"""Documents of elements (SVG, MusicXML, HTML) as an outline: an element a line, so that two can be compared.

Of what is drawn its class and text stand there, and a sum over where and how it is drawn.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from typing import Any
from zlib import crc32

from lxml import etree, html

from support.kept_texts import close_json

# decimals of a number in an attribute; the last ones are the processor's
DECIMALS = 2
# letters of an attribute that are shown
LONGEST = 40
_NUMBER = re.compile(r"-?\d+\.\d{3,}")
_DATA = re.compile(r"data:[^\"' )]{60,}")


# what is drawn, of which a sum over where and how stands for all
_DRAWN = {"path", "rect", "circle", "line", "text", "use", "ellipse", "tspan"}


def _short(text: str) -> str:
    rounded = _NUMBER.sub(lambda match: f"{round(float(match[0]), DECIMALS):g}", " ".join(text.split()))
    return _DATA.sub(lambda match: f"{match[0][:30]}... {len(match[0])}", rounded)


def _briefly(value: str) -> str:
    """The value of an attribute; of a long one, as paths are, the beginning and a sum over all of it."""
    text = _short(value)
    return (
        text if len(text) <= LONGEST or " " not in text else f"{text[: LONGEST // 2]}... {crc32(text.encode()):08x}"
    )


def _lines(element: Any, indent: str, is_left_out: Callable[[Any], bool]) -> Iterator[str]:
    if not isinstance(element.tag, str):
        return
    tag = etree.QName(element).localname
    if tag in _DRAWN and not len(element):
        said = " ".join(f"{name}={_short(value)}" for name, value in element.attrib.items())
        text = f" | {_short(element.text)}" if element.text else ""
        yield f"{indent}{tag} {element.get('class', '')} {crc32(said.encode()):08x}{text}"
        return
    said = "".join(f" {etree.QName(name).localname}={_briefly(value)!r}" for name, value in element.attrib.items())
    text = _short(element.text or "")
    if element.get("type") == "application/json":
        yield from (f"{indent}{line}" for line in close_json(json.loads(element.text)).splitlines())
        return
    if is_left_out(element):
        yield f"{indent}{tag}{said} ..."
    else:
        yield f"{indent}{tag}{said}{' | ' + text if text else ''}"
        for one in element:
            yield from _lines(one, indent + " ", is_left_out)
    tail = _short(element.tail or "")
    if tail:
        yield f"{indent}| {tail}"


def outline_of_xml(text: str | bytes) -> list[str]:
    """The outline of an SVG or a MusicXML file, without its styles."""
    data = text.encode() if isinstance(text, str) else text
    root = etree.fromstring(data, etree.XMLParser(load_dtd=False, no_network=True, huge_tree=True))
    return list(_lines(root, "", lambda one: etree.QName(one).localname == "style"))


def outline_of_page(data: bytes, *, with_pictures: bool = True) -> list[str]:
    """The outline of an HTML page, without its styles and its script; its data stand there."""

    def is_left_out(one: Any) -> bool:
        if one.tag == "script":
            return one.get("type") != "application/json"
        return one.tag == "style" or (one.tag == "svg" and not with_pictures)

    return list(_lines(html.document_fromstring(data), "", is_left_out))

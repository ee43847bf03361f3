"""Elements: building XML trees, with every text made safe for XML 1.0."""

from __future__ import annotations

import re
from xml.etree.ElementTree import Element, SubElement

# characters that XML 1.0 does not allow (W3C, XML 1.0 fifth edition, production 2)
_FORBIDDEN = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def clean_text(text: str) -> str:
    r"""The text without characters that XML forbids, its white space made plain.

    >>> clean_text("a\x00 b\n  c")
    'a b c'
    """
    return " ".join(_FORBIDDEN.sub("", text).split())


def add(parent: Element, tag: str, text: str | int | None = None, **attributes: str) -> Element:
    """Add a child; underscores in the names of attributes stand for hyphens."""
    named = {name.replace("_", "-"): value for name, value in attributes.items()}
    child = SubElement(parent, tag, named)
    if text is not None:
        child.text = clean_text(str(text))
    return child

"""Markup: text and data put into HTML so that they stay text and data, whatever characters they hold."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from html import escape
from typing import Any

# elements that hold nothing and have no end (HTML standard, "void elements")
VOID = frozenset({"input"})
# characters that have no place in a document (HTML standard, "noncharacters", "controls", "surrogates")
_FORBIDDEN = re.compile("[^\t\n\r\x20-\x7e\xa0-\ud7ff\ue000-\ufdcf\ufdf0-\ufffd\U00010000-\U0010fffd]")
# characters that could end a script element or a line of script (HTML standard, "restrictions for contents of script
# elements"; ECMAScript before 2019 for the two separators)
_UNSAFE = {ord(sign): f"\\u{ord(sign):04x}" for sign in "<>&\u2028\u2029"}


def text(words: str) -> str:
    """Words as HTML, in an element or in a quoted attribute.

    >>> text('Rock & <Roll> "7"')
    'Rock &amp; &lt;Roll&gt; &quot;7&quot;'
    """
    return escape(_FORBIDDEN.sub("", words), quote=True)


def element(name: str, content: str = "", /, **attributes: str | int | bool | None) -> str:
    """An element around HTML.

    attributes : ``data_first`` is written ``data-first``, ``class_`` is ``class``; True writes the bare name, False
        and None write nothing.

    >>> element("p", "a", lang="fr", hidden=True)
    '<p lang="fr" hidden>a</p>'
    """
    written = ""
    for key, value in attributes.items():
        named = key.rstrip("_").replace("_", "-")
        if value is True:
            written += f" {named}"
        elif value is not None and value is not False:
            written += f' {named}="{text(str(value))}"'
    return f"<{name}{written}>" if name in VOID else f"<{name}{written}>{content}</{name}>"


def in_language(content: str, language: str, *, is_first: bool) -> str:
    """HTML that is seen while its language is chosen; the first one from the start."""
    return element("div", content, class_="told", lang=language, hidden=not is_first)


def said_at(words: Mapping[str, Any], path: str) -> str:
    """What stands at a path of a page's words ("say.play", "rungs.0.name")."""
    found: Any = words
    for key in path.split("."):
        found = found[int(key)] if isinstance(found, list) else found[key]
    return str(found)


def spoken(name: str, path: str, said: Callable[[str], str]) -> str:
    """An element with words that the script puts into other languages, by their path."""
    return element(name, text(said(path)), data_say=path)


def choice(group: str, value: int | str, label: str, *, is_chosen: bool, is_closed: bool = False) -> str:
    """One of several things to choose from, a radio button that looks like a hole of the comb."""
    button = element(
        "input", type="radio", name=group, value=value, id=f"{group}-{value}", checked=is_chosen, disabled=is_closed
    )
    return f"{button}{element('label', label, class_='control', for_=f'{group}-{value}')}"


def json_text(data: Mapping[str, Any]) -> str:
    r"""Data as JSON that can stand inside a script element.

    >>> json_text({"title": "</script>"})
    '{"title":"\\u003c/script\\u003e"}'
    """
    return json.dumps(data, ensure_ascii=False, separators=(",", ":")).translate(_UNSAFE)

"""Messages: sentences with named gaps, in as many forms as number asks and as many variants as ear wants.

In a catalogue a message is

- a text with gaps: ``"Up one hole, {move}"``; ``{count:word}`` spells a number out;
- a table of forms by number, chosen by the value named ``count``: ``{ one = "{count} hole", other = "{count}
  holes" }``; a key of digits is that number exactly (``{ 2 = "twice", other = "{count:word} times" }``), as in
  the ICU message format;
- a list of variants of either, that a teacher may take turns with.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Protocol

from msgspec import Struct

from reedpath.errors import Place, SettingsError
from reedpath.wording.plurals import PluralRules

_GAP = re.compile(r"\{([a-z][a-z_0-9]*)(:word)?\}")


class Message(Struct, frozen=True):
    """One message of a catalogue.

    variants : in order; each is a table of forms, ``other`` always among them.
    gaps : names of the values it takes; ``count`` among them where it has forms.
    needed : those of them that every variant uses.
    """

    variants: tuple[Mapping[str, str], ...]
    gaps: frozenset[str]
    needed: frozenset[str]

    def form(self, variant: int, count: float, form_of: Callable[[float], str]) -> str:
        """The text of a variant (any number, counted round) for the count, gaps still open."""
        forms = self.variants[variant % len(self.variants)]
        if len(forms) == 1:
            return forms["other"]
        return forms.get(f"{count:g}") or forms.get(form_of(count)) or forms["other"]


class GapWriter(Protocol):
    """Gives the text that closes a gap, numbers spelled out or in digits."""

    def __call__(self, name: str, *, spelled: bool) -> str:
        """The text for the gap of that name."""


def fill(text: str, write: GapWriter, joined: Callable[[str, str], str]) -> str:
    """Close every gap of a text; ``joined`` puts what closes one behind the text before it."""
    filled, end = "", 0
    for match in _GAP.finditer(text):
        value = write(match.group(1), spelled=match.group(2) is not None)
        filled = joined(filled + text[end : match.start()], value)
        end = match.end()
    return filled + text[end:]


def is_message(value: object) -> bool:
    """Whether a value of a catalogue is a message and not a table of messages."""
    return not isinstance(value, dict) or "other" in value


def _check_text(text: object, key: str) -> str:
    if not isinstance(text, str) or not text.strip():
        raise SettingsError("wording.no_text", where=Place(field=key), text=str(text))
    stray = re.search(r"[{}]", _GAP.sub("", text))
    if stray:
        raise SettingsError("wording.stray_brace", where=Place(field=key), text=text)
    return text


def _forms(value: object, key: str, plural: PluralRules) -> dict[str, str]:
    if not isinstance(value, dict):
        return {"other": _check_text(value, key)}
    for form in value:
        if form not in plural.forms and not form.isdigit():
            raise SettingsError("wording.no_form", where=Place(field=key), form=form, known=plural.forms)
    missing = [form for form in plural.common if form not in value]
    # a form that exact numbers cover needs no text of its own: "1 = ..." stands for "one"
    if missing and not any(form.isdigit() for form in value):
        raise SettingsError("wording.form_missing", where=Place(field=key), form=missing[0])
    return {form: _check_text(text, key) for form, text in value.items()}


def parse_message(value: object, *, key: str, plural: PluralRules, typeset: Callable[[str], str]) -> Message:
    """Read a message from its value in a catalogue; errors name the key and the value."""
    listed = value if isinstance(value, list) else [value]
    if not listed:
        raise SettingsError("wording.empty_list", where=Place(field=key))
    variants = [_forms(one, key, plural) for one in listed]
    gaps = [
        frozenset(name for text in forms.values() for name, _ in _GAP.findall(text))
        | ({"count"} if len(forms) > 1 else frozenset())
        for forms in variants
    ]
    set_up = tuple({form: typeset(text) for form, text in forms.items()} for forms in variants)
    return Message(set_up, frozenset.union(*gaps), frozenset.intersection(*gaps))

"""Files of version 1, written before the types said their own shape: from their plain data to those of version 2.

Version 1 said a place in English ("bar 3, line 2") and what was left out as a sentence, with or without its kind; a
lesson kept its phrase and its changes beside the route. Whatever is damaged is passed on as it is, for version 2 to
name it.
"""

from __future__ import annotations

import re
from functools import cache
from typing import Any

from reedpath.data import as_plain
from reedpath.errors import NOWHERE, Place, ReadError, plain_text
from reedpath.phrase.left_out import LeftOut, left_out_kinds

# characters of a text that are looked at; ours
_LONGEST_TEXT = 200
_GAP = re.compile(r"\{([a-z]+)\}")
_PIECE = re.compile(
    r"(?P<name>bar|line|column|track|channel|byte|beat) (?P<number>[^\s,]+)"
    r"|(?:X:|tunes? )(?P<tune>\d{1,9})(?: to (?:X:)?(?P<last_tune>\d{1,9}))?"
    r"|(?P<seconds>\d{1,9}(?:\.\d{1,9})?) s"
    r"|(?P<pickup>pickup)"
)
_WHOLE = re.compile(r"\d{1,15}")
_DECIMAL = re.compile(r"\d{1,9}(?:\.\d{1,9})?")


def _known(piece: re.Match[str]) -> dict[str, str | float] | None:
    if piece["tune"]:
        return {name: int(piece[name]) for name in ("tune", "last_tune") if piece[name]}
    if piece["seconds"]:
        return {"seconds": float(piece["seconds"])}
    if piece["pickup"]:
        return {"bar": 0}
    name, number = piece["name"], piece["number"]
    if name == "beat":
        return {name: float(number)} if _DECIMAL.fullmatch(number) else None
    if _WHOLE.fullmatch(number):
        return {name: int(number)}
    return {name: number} if name == "bar" else None


def place_of_text(text: str) -> Place:
    """
    The place that a text such as "bar 3, line 7" or "X:2 to X:5" names; what names none is kept as it is, as a file.

    >>> place_of_text("bar 3, line 7").known, place_of_text("over there").known
    ((('bar', 3), ('line', 7)), (('file', 'over there'),))
    """
    known: dict[str, str | float] = {}
    for piece in plain_text(text).split(", ") if text.strip() else ():
        match = _PIECE.fullmatch(piece)
        found = _known(match) if match else None
        if found is None:
            return Place(file=plain_text(text))
        known |= found
    return Place(**known)  # type: ignore[arg-type]


@cache
def _patterns() -> tuple[tuple[str, re.Pattern[str]], ...]:
    """A pattern for each kind's text, those that say most first."""
    kinds = {key: kind for key, kind in left_out_kinds().items() if key != "unlisted"}
    written = sorted(kinds, key=lambda key: -len(_GAP.sub("", kinds[key].text)))
    return tuple((key, _pattern(kinds[key].text)) for key in written)


def _pattern(text: str) -> re.Pattern[str]:
    pieces = _GAP.split(text)
    return re.compile("".join(f"(?P<{one}>.+)" if at % 2 else re.escape(one) for at, one in enumerate(pieces)))


def left_out_of_text(what: str, place: Place = NOWHERE, count: int = 1) -> LeftOut:
    """
    What an English text means: one of the kinds, or the kind ``unlisted`` with the text itself.

    >>> left_out_of_text("voice low").values, left_out_of_text("confetti").kind
    ((('name', 'low'),), 'unlisted')
    """
    what = plain_text(what, most=_LONGEST_TEXT)
    for key, pattern in _patterns():
        match = pattern.fullmatch(what)
        if match:
            values = sorted((name, plain_text(value)) for name, value in match.groupdict().items())
            return LeftOut(key, place, count, tuple(values))
    return LeftOut("unlisted", place, count, (("what", plain_text(what)),))


def _object(plain: Any) -> dict[str, Any]:
    return plain if isinstance(plain, dict) else {}


def _list(plain: Any) -> list[Any]:
    return plain if isinstance(plain, list) else []


def _place(plain: Any) -> Any:
    return as_plain(place_of_text(plain)) if isinstance(plain, str) else plain


def _event(plain: Any) -> Any:
    return plain | {"place": _place(plain.get("place", ""))} if isinstance(plain, dict) else plain


def _left_out(plain: Any) -> Any:
    """One thing left out: its kind is told by its English text where it has none that is known."""
    one = _object(plain)
    what, place, count = one.get("what"), _place(one.get("place", "")), one.get("count", 1)
    kind = one.get("kind")
    if isinstance(kind, str) and kind in left_out_kinds() and kind != "unlisted":
        values = one.get("values")
        pairs = sorted(map(list, values.items())) if isinstance(values, dict) else values
        return {"kind": kind, "values": pairs, "place": place, "count": count}
    if not isinstance(what, str):
        return plain
    return as_plain(left_out_of_text(what)) | {"place": place, "count": count}


def _phrase(plain: Any) -> Any:
    if not isinstance(plain, dict):
        return plain
    makers = {"events": _event, "left_out": _left_out}
    lists = {name: make for name, make in makers.items() if isinstance(plain.get(name), list)}
    return plain | {name: [make(one) for one in plain[name]] for name, make in lists.items()}


def phrase_file_of_version_1(plain: Any) -> Any:
    """The plain data of a phrase's file."""
    return plain | {"version": 2, "phrase": _phrase(plain.get("phrase"))}


def _changes(route: dict[str, Any]) -> dict[int, list[Any]]:
    """What each event of a route changed, by its index."""
    changes: dict[int, list[Any]] = {}
    count = len(_list(route.get("events")))
    for number, plain in enumerate(_list(route.get("changes"))):
        event = _object(plain).get("event")
        if not isinstance(event, int) or isinstance(event, bool) or not 0 <= event < count:
            raise ReadError("lesson.no_such_event", where=Place(field=f"route.changes[{number}].event"))
        changes.setdefault(event, []).append(plain)
    return changes


_CHOICE = ("move", "attack_semitones", "fall_semitones", "lead_in", "lead_out")


def _route_event(plain: Any, event: Any, changes: list[Any]) -> Any:
    if not isinstance(plain, dict):
        return plain
    own = {"onset_beats": plain.get("onset_beats"), "midi": plain.get("asked_midi")}
    choice = {name: plain[name] for name in _CHOICE if name in plain}
    return plain | {"event": _object(event) | own, "choice": choice | {"changes": changes}}


def _route(plain: Any, phrase: Any, harp: Any) -> Any:
    if not isinstance(plain, dict):
        return plain
    changes, listed = _changes(plain), _list(plain.get("events"))
    asked = _list(_object(phrase).get("events"))
    events = [
        _route_event(one, asked[index] if index < len(asked) else {}, changes.get(index, []))
        for index, one in enumerate(listed)
    ]
    return plain | {"phrase": phrase, "harp": harp, "events": events}


def lesson_of_version_1(plain: Any) -> Any:
    """The plain data of a lesson's file."""
    route = _route(plain.get("route"), _phrase(plain.get("phrase")), plain.get("harp"))
    return plain | {"version": 2, "route": route}

"""Files of version 1, written before the types said their own shape: from their plain data to those of version 2.

Version 1 said a place in English ("bar 3, line 2") and what was left out as a sentence, with or without its kind; a
lesson kept its phrase and its changes beside the route. Whatever is damaged is passed on as it is, for version 2 to
name it.
"""

from __future__ import annotations

from typing import Any

from reedpath.data import as_plain
from reedpath.errors import Place, ReadError
from reedpath.phrase.left_out import left_out_in_words, left_out_kinds

__all__ = ["lesson_of_version_1", "phrase_file_of_version_1"]


def _object(plain: Any) -> dict[str, Any]:
    return plain if isinstance(plain, dict) else {}


def _list(plain: Any) -> list[Any]:
    return plain if isinstance(plain, list) else []


def _left_out(plain: Any) -> Any:
    """One thing left out: its kind is told by its English text where it has none that is known."""
    one = _object(plain)
    what, place, count = one.get("what"), one.get("place", ""), one.get("count", 1)
    kind = one.get("kind")
    if isinstance(kind, str) and kind in left_out_kinds() and kind != "unlisted":
        values = one.get("values")
        pairs = sorted(map(list, values.items())) if isinstance(values, dict) else values
        return {"kind": kind, "values": pairs, "place": place, "count": count}
    if not isinstance(what, str):
        return plain
    told = left_out_in_words(what)
    return as_plain(told) | {"place": place, "count": count}


def _phrase(plain: Any) -> Any:
    if not isinstance(plain, dict) or not isinstance(plain.get("left_out"), list):
        return plain
    return plain | {"left_out": [_left_out(one) for one in plain["left_out"]]}


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

"""The shape of a zip's list as it is written, each kind of record for itself; its JSON Schema is made from it.

It follows from the records: a record's number and what lies in a file of its own are not in the list, and one that it
belongs to is called by its uid.
"""

from __future__ import annotations

import inspect
from typing import Any

import msgspec
from msgspec import NODEFAULT, Struct

from reedpath.shelf.records import KINDS, OWNERS, Line, ShelfRecord, Uid
from reedpath.shelf.zipped import SHELF_SCHEMA, ShelfFile

# what is not in the list: a number is the shelf's own, and the text lies in a file of its own
_NOT_LISTED = {"number", "data"}
# fields that say something else in the list than in their record
_OTHERWISE: dict[str, tuple[Any, str]] = {
    "uid": (Uid, "uid : sixteen hexadecimal digits that no other record has, on any shelf."),
    "pieces": (tuple[Line, ...], "pieces : folders of its pieces, where it has several."),
}


def _struct(name: str, said: list[str], fields: list[tuple[str, Any, Any]], **config: Any) -> type[Struct]:
    namespace = {"__doc__": "\n\n".join(said)}
    return msgspec.defstruct(name, fields, namespace=namespace, frozen=True, kw_only=True, **config)


def _record_as_written(kind: str, record: type[ShelfRecord]) -> type[Struct]:
    """The shape of a record of a kind in the list, where each of its fields stands."""
    said = [inspect.cleandoc(record.__doc__ or "")]
    fields: list[tuple[str, Any, Any]] = []
    for field in msgspec.structs.fields(record):
        if field.name in _NOT_LISTED:
            continue
        shape, told = _OTHERWISE.get(field.name, (field.type, ""))
        if owner := OWNERS.get(kind, {}).get(field.name):
            shape = Uid if field.required else Uid | None
            told = f"{field.name} : uid of the {owner.replace('_', ' ')}."
        fields.append((field.name, shape, NODEFAULT))
        said += [told] if told else []
    return _struct(f"Listed{record.__name__}", said, fields)


def _some_of(kind: str, record: type[ShelfRecord]) -> Any:
    shape: Any = _record_as_written(kind, record)
    return tuple[shape, ...]


def shelf_file_as_written() -> type[Struct]:
    """The shape of the whole list."""
    kinds = [(kind, _some_of(kind, record), NODEFAULT) for kind, record in KINDS.items()]
    said = "The records of a shelf by their kind, each in the order in which they came."
    shapes = {one.name: one.type for one in msgspec.structs.fields(ShelfFile)} | {
        "records": _struct("ListedRecords", [said], kinds)
    }
    fields = [(name, shape, () if name == "drafts" else NODEFAULT) for name, shape in shapes.items()]
    whole = inspect.cleandoc(ShelfFile.__doc__ or "")
    return _struct("ShelfList", [whole], fields, tag_field="schema", tag=SHELF_SCHEMA)

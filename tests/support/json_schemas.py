"""The JSON Schema (2020-12) of a type, its descriptions taken from docstrings.

The library's own generator knows no hook for defaults, and ours are exact fractions; so the schema is made here from
what the library tells of types (`msgspec.inspect`).
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Mapping
from fractions import Fraction
from typing import Any

import msgspec.inspect as kinds
from msgspec import NODEFAULT

from reedpath.data import as_plain
from reedpath.data.shapes import FRACTION

__all__ = ["json_schema"]

DIALECT = "https://json-schema.org/draft/2020-12/schema"
# words of the schema for the bounds of a kind
_BOUNDS = {
    "ge": "minimum",
    "gt": "exclusiveMinimum",
    "le": "maximum",
    "lt": "exclusiveMaximum",
    "pattern": "pattern",
}
_SIMPLE = {
    kinds.NoneType: "null",
    kinds.BoolType: "boolean",
    kinds.IntType: "integer",
    kinds.FloatType: "number",
    kinds.StrType: "string",
}
# a line of a docstring that tells of fields: "onset, duration : in beats"
_FIELDS = re.compile(r"(\w+(?:, \w+)*) : (.+)")


def _bounds(info: Any, length: str) -> dict[str, Any]:
    words = _BOUNDS | {"min_length": f"min{length}", "max_length": f"max{length}"}
    found = {word: getattr(info, name, None) for name, word in words.items()}
    if found["pattern"]:
        # the anchors of a text's start and end in the regular expressions of JSON Schema (ECMA-262, 22.2.1)
        found["pattern"] = found["pattern"].replace(r"\A", "^").replace(r"\Z", "$")
    # 0 and 0.0 are one bound to `typing`, which keeps the one that it met first
    return {
        word: int(value) if isinstance(value, float) and value.is_integer() else value
        for word, value in found.items()
        if value is not None
    }


def _told(kind: type) -> tuple[str, dict[str, str]]:
    """What a class's docstring says of it, and of each field by its name in Python; fields may be told by a base."""
    said, told = "", dict[str, str]()
    for base in reversed(kind.__mro__):
        blocks = inspect.cleandoc(base.__dict__.get("__doc__") or "").split("\n\n")
        said = " ".join(blocks[0].split())
        for line in "\n".join(re.sub(r"\n\s+", " ", block) for block in blocks).splitlines():
            # two fields may be told on one line: "kind : what. amount : how much."
            for sentence in re.split(r"(?<=\.) (?=\w+(?:, \w+)* : )", line):
                if match := _FIELDS.fullmatch(sentence.strip()):
                    told |= dict.fromkeys(match[1].split(", "), match[2])
    return said, told


class _Definitions:
    """The schemas of all objects met so far, by the name of their class."""

    def __init__(self, written: Mapping[type, type]) -> None:
        self.written = written
        self.found: dict[str, dict[str, Any]] = {}

    def of(self, info: Any) -> dict[str, Any]:
        """The schema of a kind as the library tells of it."""
        match info:
            case kinds.Metadata():
                return self.of(info.type) | (info.extra_json_schema or {})
            case kinds.StructType() | kinds.DataclassType():
                return self._reference(info)
            case kinds.VarTupleType():
                return {"type": "array", "items": self.of(info.item_type)} | _bounds(info, "Items")
            case kinds.TupleType():
                count = len(info.item_types)
                items = [self.of(one) for one in info.item_types]
                return {"type": "array", "prefixItems": items, "minItems": count, "maxItems": count}
            case kinds.DictType():
                return {"type": "object", "additionalProperties": self.of(info.value_type)}
            case kinds.UnionType():
                return {"anyOf": [self.of(one) for one in info.types]}
            case kinds.EnumType():
                return {"enum": [one.value for one in info.cls]}
            case kinds.LiteralType():
                return {"enum": list(info.values)}
            case kinds.CustomType(cls) if cls is Fraction:
                return {"type": "string", "pattern": f"^{FRACTION.pattern}$"}
            case _ if type(info) in _SIMPLE:
                return {"type": _SIMPLE[type(info)]} | _bounds(info, "Length")
        raise NotImplementedError(f"no schema stands for {info}")

    def _reference(self, info: kinds.StructType | kinds.DataclassType) -> dict[str, Any]:
        name = info.cls.__name__
        if name not in self.found:
            self.found[name] = {}
            more = self.written.get(info.cls)
            self.found[name] = self._object(kinds.type_info(more) if more else info, name)
        return {"$ref": f"#/$defs/{name}"}

    def _object(self, info: Any, name: str) -> dict[str, Any]:
        said, told = _told(info.cls)
        properties: dict[str, Any] = {}
        if getattr(info, "tag_field", None):
            properties[info.tag_field] = {"const": info.tag}
        required = list(properties)
        for field in info.fields:
            entry = self.of(field.type)
            if field.name in told:
                entry["description"] = told[field.name]
            if field.default is not NODEFAULT:
                entry["default"] = field.default
            elif field.required or not getattr(info.cls, "__struct_config__", None):
                required.append(field.encode_name)
            properties[field.encode_name] = entry
        return {
            "title": name,
            "description": said,
            "type": "object",
            "properties": properties,
            "required": required,
            "additionalProperties": False,
        }


def json_schema(kind: type, *, title: str, written: Mapping[type, type] | None = None) -> dict[str, Any]:
    """
    The JSON Schema of what is written of a type.

    written : kinds whose values are written as those of a kind with more fields, and that kind.
    """
    definitions = _Definitions(written or {})
    top = definitions.of(kinds.type_info(kind))
    schema: dict[str, Any] = as_plain({"$schema": DIALECT, "title": title, **top, "$defs": definitions.found})
    return schema

"""Plain data (JSON, TOML) to typed values and back; every error names the file, the field and the value.

The shape of a value is said once, by its type: a ``msgspec.Struct`` (or a frozen dataclass) with annotations and
``msgspec.Meta`` bounds (`numbers`). Reading, writing, checking and the JSON Schema all come from it.
"""

from reedpath.data.schemas import json_schema
from reedpath.data.shapes import (
    as_plain,
    encode_json,
    extended,
    from_plain,
    from_tables,
    read_json,
    read_tables,
    read_toml,
    read_versioned,
    replace,
    replace_inside,
)

__all__ = [
    "as_plain",
    "encode_json",
    "extended",
    "from_plain",
    "from_tables",
    "json_schema",
    "read_json",
    "read_tables",
    "read_toml",
    "read_versioned",
    "replace",
    "replace_inside",
]

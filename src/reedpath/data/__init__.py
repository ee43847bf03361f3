"""Plain data (JSON, TOML) to typed values and back; every error names the file, the field and the value.

The shape of a value is said once, by its type: a ``msgspec.Struct`` (or a frozen dataclass) with annotations and
``msgspec.Meta`` bounds (`numbers`). Reading, writing, checking and the JSON Schema all come from it.
"""

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face

if TYPE_CHECKING:
    from reedpath.data.shapes import (
        as_plain,
        encode_json,
        extended,
        from_plain,
        from_tables,
        plain_of_version,
        read_json,
        read_tables,
        read_toml,
        replace,
        replace_inside,
        round_floats,
        schema_of,
        shipped_folder,
        shipped_names,
        shipped_text,
    )
else:
    __getattr__ = lazy_face(__name__)

__all__ = [
    "as_plain",
    "encode_json",
    "extended",
    "from_plain",
    "from_tables",
    "plain_of_version",
    "read_json",
    "read_tables",
    "read_toml",
    "replace",
    "replace_inside",
    "round_floats",
    "schema_of",
    "shipped_folder",
    "shipped_names",
    "shipped_text",
]

"""Texts that are compared whole with what was kept of them beside the tests.

A reader of the change sees in the kept file what people would see otherwise. Where that is as it should be,
``KEEP_TEXTS=1`` lets the tests write the files anew.
"""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

# letters of a line of data, and decimals of its numbers: the last ones are the processor's
WIDTH, DECIMALS = 118, 6


def rounded(data: Any) -> Any:
    """Data with its numbers rounded."""
    match data:
        case float():
            return round(data, DECIMALS)
        case list():
            return [rounded(one) for one in data]
        case dict():
            return {name: rounded(one) for name, one in data.items()}
    return data


def close_json(data: Any, indent: str = "") -> str:
    """Data as JSON, in lines that hold as much as fits."""
    data = rounded(data)
    text = json.dumps(data, ensure_ascii=False)
    if len(indent + text) <= WIDTH or not isinstance(data, dict | list):
        return text
    inside = indent + " "
    if isinstance(data, list):
        return "[\n" + ",\n".join(inside + close_json(one, inside) for one in data) + f"\n{indent}]"
    told = (f"{inside}{json.dumps(name)}: {close_json(one, inside)}" for name, one in data.items())
    return "{\n" + ",\n".join(told) + f"\n{indent}}}"


def assert_kept(path: Path, text: str) -> None:
    """Compare a text with the kept one; write it instead where that is asked for."""
    if os.environ.get("KEEP_TEXTS"):
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="\n")
        return
    assert text.splitlines() == path.read_text(encoding="utf-8").splitlines(), f"{path.name}; KEEP_TEXTS=1 keeps it"

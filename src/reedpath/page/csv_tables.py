"""Tables as comma-separated values, for spreadsheets."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable

# signs with which a text would be reckoned by a spreadsheet instead of read (OWASP, "CSV injection")
_RECKONED = ("=", "+", "-", "@", "\t", "\r")


def encode_csv(rows: Iterable[Iterable[str | float | None]]) -> bytes:
    """A table in UTF-8 with its mark, by which spreadsheets know it (RFC 4180).

    Numbers stand as numbers, with a point; no text is one that a spreadsheet would reckon.
    """

    def cell(value: str | float | None) -> str:
        if isinstance(value, str):
            return f"'{value}" if value.startswith(_RECKONED) else value
        return "" if value is None else f"{value:g}" if isinstance(value, float) else str(value)

    text = io.StringIO(newline="")
    csv.writer(text).writerows([cell(value) for value in row] for row in rows)
    return text.getvalue().encode("utf-8-sig")

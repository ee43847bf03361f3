"""Where the benches put what they measured: between two marks of a page of the docs."""

from __future__ import annotations

from pathlib import Path


def put_between(marks: tuple[str, str], text: str, page: Path) -> None:
    """Write a table between its two marks in a page, in place of the one that stands there.

    Raises SystemExit where each mark does not stand once, the first before the second; the page is left alone then.
    """
    was = page.read_text(encoding="utf-8")
    head, first, rest = was.partition(marks[0])
    _, second, tail = rest.partition(marks[1])
    if not (first and second) or was.count(marks[0]) + was.count(marks[1]) != 2:
        raise SystemExit(f"{page}: the marks {' and '.join(marks)} do not stand there once each")
    page.write_text(f"{head}{first}\n\n{text}\n\n{second}{tail}", encoding="utf-8")

"""docs/sources.md: each reader of notation has its heading, suffixes and options there."""

from pathlib import Path

import pytest

from reedpath.readers import DEFAULT_LIMITS, reader_of

PAGE = (Path(__file__).parents[2] / "docs" / "sources.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", ["musicxml", "midi", "abc"])
def test_the_page_tells_each_reader(name):
    reader = reader_of(name)
    heading = f"## {reader.title} (`{name}`: {', '.join(reader.suffixes)})"
    assert heading in PAGE
    section = PAGE.split(heading)[1].split("\n## ")[0]
    told = {line.split("`")[1] for line in section.splitlines() if line.startswith("| `")}
    assert told == set(reader.options)


def test_the_page_tells_the_limits():
    for limit in ("source_bytes", "unpacked_bytes"):
        assert f"{getattr(DEFAULT_LIMITS, limit) // 1_000_000} MB" in PAGE
    for limit in ("unpack_ratio", "packed_files", "nesting", "lines", "line_characters", "events", "bars"):
        assert f"{getattr(DEFAULT_LIMITS, limit):,}" in PAGE

"""Files are read within limits, and written so that they are there whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from reedpath.errors import ReadError, SettingsError
from reedpath.jobs.disk import MOST_TEXT_BYTES, read_bytes, read_text, with_file, write_file


def test_a_file_is_read_up_to_its_limit(tmp_path: Path):
    path = tmp_path / "a.txt"
    path.write_bytes(b"12345")
    assert read_bytes(path, most_bytes=5) == b"12345"
    with pytest.raises(ReadError) as told:
        read_bytes(path, most_bytes=4)
    assert str(told.value) == f"{path}: the file is larger than the 4 bytes that are read"
    with pytest.raises(ReadError, match="this is a folder, not a file"):
        read_bytes(tmp_path, most_bytes=5)
    with pytest.raises(ReadError) as told:
        read_bytes(tmp_path / ("n" * 300), most_bytes=5)
    assert str(told.value).endswith("the file cannot be read: File name too long")


def test_a_text_is_utf_8_with_or_without_its_mark(tmp_path: Path):
    path = tmp_path / "a.toml"
    for data in ("été".encode(), "\ufeffété".encode()):
        path.write_bytes(data)
        assert read_text(path) == "été"
    path.write_bytes(b"abc\xff")
    with pytest.raises(ReadError) as told:
        read_text(path)
    assert str(told.value) == f"{path}, byte 3: this is not UTF-8 text"
    path.write_bytes(b"#" * (MOST_TEXT_BYTES + 1))
    with pytest.raises(ReadError, match="larger than the 1,000,000 bytes"):
        read_text(path)


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such permissions")
def test_a_written_file_is_new_whole_and_readable_as_the_user_has_it(tmp_path: Path):
    path = tmp_path / "deep" / "er" / "a.json"
    mask = os.umask(0o027)
    try:
        write_file(path, b"one")
        write_file(path, b"two")
        assert os.umask(0o027) == 0o027
    finally:
        os.umask(mask)
    assert path.read_bytes() == b"two"
    assert path.stat().st_mode & 0o777 == 0o640
    assert [one.name for one in path.parent.iterdir()] == ["a.json"]


def test_what_cannot_be_written_is_told_and_leaves_nothing(tmp_path: Path):
    folder = tmp_path / "a.json"
    folder.mkdir()
    with pytest.raises(SettingsError) as told:
        write_file(folder, b"one")
    assert str(told.value).startswith(f"{folder}: the file cannot be written: ")
    (tmp_path / "file").write_bytes(b"hers")
    with pytest.raises(SettingsError, match="the file cannot be written: "):
        write_file(tmp_path / "file" / "a.json", b"one")
    assert sorted(one.name for one in tmp_path.iterdir()) == ["a.json", "file"]
    assert (tmp_path / "file").read_bytes() == b"hers"


def test_a_file_is_named_once(tmp_path: Path):
    path = tmp_path / "a.toml"
    error = with_file(path, ReadError("readers.empty"))
    assert str(error) == f"{path}: the source is empty"
    assert with_file(path, error) is error
    assert str(error) == f"{path}: the source is empty"

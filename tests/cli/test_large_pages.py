"""A page that is too large for e-mail is told of, with what to do instead."""

from __future__ import annotations

from pathlib import Path

import pytest

from reedpath.cli.printing import print_written
from reedpath.jobs.folders import Written
from reedpath.jobs.lesson_pages import LARGE_PAGE
from reedpath.wording import catalogue_names, load_catalogue


def _told(folder: Path, size: int, language: str, capsys: pytest.CaptureFixture[str]) -> str:
    for name in ("lesson.html", "play-along-60.wav"):
        with (folder / name).open("wb") as file:
            file.truncate(size)
    print_written(folder, Written(("lesson.html", "play-along-60.wav")), load_catalogue(language))
    return capsys.readouterr().out


@pytest.mark.parametrize("language", catalogue_names())
def test_a_page_too_large_for_e_mail_is_told_of_with_its_size(tmp_path, capsys, language):
    told = _told(tmp_path, 43_400_000, language, capsys).splitlines()[3:]
    assert len(told) == 1
    assert "lesson.html" in told[0]
    assert "43" in told[0]
    assert "--bars" in told[0]


def test_of_a_page_that_may_be_sent_nothing_is_told(tmp_path, capsys):
    assert len(_told(tmp_path, LARGE_PAGE, "en", capsys).splitlines()) == 3

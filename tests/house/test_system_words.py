"""What the system says of files and disks is told in each language."""

import errno
import os

import pytest

from reedpath.errors import SettingsError, system_words
from reedpath.wording import error_words, load_catalogue


@pytest.mark.parametrize(
    "number", [errno.ENOSPC, errno.EACCES, errno.EROFS, errno.ENAMETOOLONG, errno.ENOTDIR, errno.EIO]
)
def test_in_english_it_is_as_the_system_says_it(number):
    error = SettingsError("jobs.folder_unwritable", why=system_words(OSError(number, os.strerror(number))))
    assert str(error) == f"the folder cannot be written: {os.strerror(number)}"
    assert os.strerror(number) not in error_words(error, load_catalogue("fr"))


def test_what_has_no_words_of_ours_is_told_as_it_is():
    assert system_words(OSError(errno.ENOTEMPTY, "Directory not empty")) == "Directory not empty"
    assert system_words(RuntimeError("no home")) == "no home"

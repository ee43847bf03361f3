"""Options of the typed formats, as a door passes them: text, numbers or yes and no."""

from __future__ import annotations

from reedpath.errors import ReadError
from reedpath.readers.registry import Option

__all__ = ["text_option", "yes_or_no_option"]

_YES, _NO = ("yes", "true", "1"), ("no", "false", "0")


def text_option(value: Option | None) -> str | None:
    """An option as text, None where it is not given."""
    return None if value is None else str(value)


def yes_or_no_option(value: Option | None, *, name: str) -> bool | None:
    """
    An option that is yes or no, None where it is not given; ReadError, by its name, for anything else.

    >>> yes_or_no_option("yes", name="x"), yes_or_no_option(False, name="x")
    (True, False)
    """
    if value is None or isinstance(value, bool):
        return value
    if str(value).lower() in _YES:
        return True
    if str(value).lower() in _NO:
        return False
    raise ReadError(f"{name} is yes or no, not {value!r}")

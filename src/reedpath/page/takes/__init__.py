"""The overview of many takes: as data, as text, as a table, and as one page to print."""

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face

if TYPE_CHECKING:
    from reedpath.page.takes.overview import (
        CommonPlace,
        LastTime,
        TakesOverview,
        ToldTake,
        TriedLesson,
        UnansweredTake,
    )
    from reedpath.page.takes.overview_page import encode_takes_page
    from reedpath.page.takes.overview_text import encode_takes_table, format_takes
else:
    __getattr__ = lazy_face(__name__)

__all__ = [
    "CommonPlace",
    "LastTime",
    "TakesOverview",
    "ToldTake",
    "TriedLesson",
    "UnansweredTake",
    "encode_takes_page",
    "encode_takes_table",
    "format_takes",
]

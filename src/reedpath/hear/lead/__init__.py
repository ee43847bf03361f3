"""The lead of a record: one voice followed through drums, bass and chords.

`reedpath.hear` hears one voice, or plucked strings; here the voice has a band beside it.
"""

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face

if TYPE_CHECKING:
    from reedpath.hear.lead.heard import DOUBTFUL_UNDER, WRITTEN_FROM, RecordHeard, hear_record
else:
    __getattr__ = lazy_face(__name__)

__all__ = ["DOUBTFUL_UNDER", "WRITTEN_FROM", "RecordHeard", "hear_record"]

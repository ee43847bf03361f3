"""The score: a route as staff notation with tab, in MusicXML."""

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face

if TYPE_CHECKING:
    from reedpath.page.score.musicxml import encode_musicxml
else:
    __getattr__ = lazy_face(__name__)

__all__ = ["encode_musicxml"]

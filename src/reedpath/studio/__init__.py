"""The studio: the whole job in a browser, served on this machine alone."""

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face

if TYPE_CHECKING:
    from reedpath.studio.app import make_app
    from reedpath.studio.open_shelf import OpenShelf
    from reedpath.studio.serving import serve_studio
else:
    __getattr__ = lazy_face(__name__)

__all__ = ["OpenShelf", "make_app", "serve_studio"]

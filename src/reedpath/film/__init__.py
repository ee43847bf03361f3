"""Film: timeline, captions, frames and encoding. Knows nothing of jobs and doors."""

from reedpath.film.laying import lay_out_film, lay_out_takes, rungs_named
from reedpath.film.playings import Heard, Playing

__all__ = ["Heard", "Playing", "lay_out_film", "lay_out_takes", "rungs_named"]

"""Scenes of raw footage as they are filmed, and what of each a proposed cut gets right: for tests and the bench."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from reedpath.film import CutPiece, FilmCut
from reedpath.lesson import Lesson
from support.raw_footage import Done, RawScene, Said, Sound, Tried, as_camera, cut_sounds, stereo
from support.teacher_films import FilmMade, write_film

# shares of a take, and of talk, that must stay for it to stay; and up to which it has gone
TAKE_STAYS, TALK_STAYS, IS_GONE = 0.98, 0.95, 0.05


@dataclass(frozen=True)
class SecondCamera:
    """A camera beside the one that heard the scene as it was, with a clock of its own.

    starts, ends : seconds of the scene, None for its end. drift_ppm : by how many millionths its clock is too fast.
    """

    starts: float = 0.0
    ends: float | None = None
    drift_ppm: float = 0.0
    gain_db: float = 0.0
    noise_db: float = -58.0
    seed: int = 1

    def recorded(self, scene: RawScene) -> Sound:
        """What it hears."""
        return as_camera(
            scene, starts=self.starts, ends=self.ends, drift_ppm=self.drift_ppm, seed=self.seed,
            gain_db=self.gain_db, noise_db=self.noise_db,
        )  # fmt: skip

    def in_scene(self, seconds: float) -> float:
        """The scene's time at one of its own."""
        return self.starts + seconds / (1 + self.drift_ppm * 1e-6)

    def clock_off(self, cut: FilmCut) -> float:
        """Seconds by which it is off at worst against the first film; infinite where they were not lined up."""
        clock = cut.clock(1, 0)
        if clock is None:
            return float("inf")
        return max(abs(clock.there(at) - self.in_scene(at)) for at in (0.0, cut.lengths[1]))


@dataclass(frozen=True)
class Shot:
    """A scene that one camera or two filmed, and what of it should stay: takes and talk, by their places among what
    was done."""

    lesson: Lesson
    scene: RawScene
    takes: tuple[int, ...]
    talk: tuple[int, ...]
    second: SecondCamera | None = None

    def films(self, folder: Path, shape: FilmMade) -> tuple[Path, ...]:
        """Films of the cameras, "one.mp4" and "two.mp4"."""
        sounds = {"one": self.scene.samples}
        if self.second is not None:
            sounds["two"] = self.second.recorded(self.scene)
        films = tuple(folder / f"{name}.mp4" for name in sounds)
        for film, sound in zip(films, sounds.values(), strict=True):
            write_film(film, stereo(sound), shape)
        return films

    def in_scene(self, piece: CutPiece) -> tuple[float, float]:
        """From where to where a stretch lies in the scene, whichever camera's sound it is."""
        if piece.film == 0 or self.second is None:
            return piece.start_seconds, piece.end_seconds
        return self.second.in_scene(piece.start_seconds), self.second.in_scene(piece.end_seconds)


@dataclass(frozen=True)
class JudgedCut:
    """What of a shot's cut is as it should be.

    takes, others : whether each take that should stay stays, and each other one is gone.
    talk, laments : the same of talk.
    edges : moments of the scene at which something that stays begins or ends. inside : those inside a note or a word.
    mistakes : each in words.
    """

    takes: list[bool] = field(default_factory=list)
    others: list[bool] = field(default_factory=list)
    talk: list[bool] = field(default_factory=list)
    laments: list[bool] = field(default_factory=list)
    edges: list[float] = field(default_factory=list)
    inside: list[tuple[float, Done]] = field(default_factory=list)
    mistakes: list[str] = field(default_factory=list)


def _share(spans: list[tuple[float, float]], done: Done) -> float:
    """How much of what is done lies in some stretches, twice where two cameras' sound of it stays."""
    start, end = done.sounds[0][0], done.sounds[-1][1]
    return sum(max(0.0, min(end, last) - max(start, first)) for first, last in spans) / (end - start)


def _cuts_told(inside: Sequence[tuple[float, Done]]) -> Iterator[str]:
    for at, done in inside:
        sound = next((start, end) for start, end in done.sounds if start < at < end)
        yield f"cut at {at:.2f} inside {sound[0]:.2f}-{sound[1]:.2f} of {done.what}"


def judged_cut(shot: Shot, cut: FilmCut) -> JudgedCut:
    """What of a cut that is proposed of a shot is as it should be."""
    spans = sorted(shot.in_scene(piece) for piece in cut.kept)
    edges = [at for span in spans for at in span]
    judged = JudgedCut(edges=edges, inside=cut_sounds(shot.scene, edges))
    for number, done in enumerate(shot.scene.done):
        if not done.sounds or not isinstance(done.what, Tried | Said):
            continue
        stays = _share(spans, done)
        if isinstance(done.what, Tried):
            is_wanted, least = number in shot.takes, TAKE_STAYS
            into = judged.takes if is_wanted else judged.others
        else:
            is_wanted, least = number in shot.talk, TALK_STAYS
            into = judged.talk if is_wanted else judged.laments
        # what is seen twice, by either camera, is no better than what is cut
        is_right = least < stays < 2 - least if is_wanted else stays < IS_GONE
        into.append(is_right)
        if not is_right:
            judged.mistakes.append(f"{done.sounds[0][0]:.1f}-{done.sounds[-1][1]:.1f} {done.what} stays {stays:.2f}")
    judged.mistakes.extend(_cuts_told(judged.inside))
    return judged


__all__ = ["JudgedCut", "SecondCamera", "Shot", "judged_cut"]

"""Making the files of a lesson's folder: step by step in this process, the sounds beside that in others."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any, TypeAlias

from reedpath.jobs.kept_sounds import KeptSounds, sound_key
from reedpath.jobs.lesson_pages import page_with_sounds, places_of_sounds
from reedpath.jobs.processes import JobPart, SideBySide
from reedpath.jobs.progress import Progress, ProgressStep
from reedpath.lesson import Lesson, Rung
from reedpath.phrase import metre_at
from reedpath.sound import tempo_number

# seconds of a processor that each step takes for an event of the route, and the sounds for a second of them, coding
# included; measured with a tab of 320 bars of eighths on the machine of docs/performance.md, both processors at work
EVENT_SECONDS = {
    "tab": 0.00015, "score": 0.0002, "engraving": 0.0009, "pictures": 0.00035, "steps": 0.00015, "sheet": 0.003,
    "midi": 0.00015, "page": 0.0013, "data": 0.00025,
}  # fmt: skip
SOUND_SECONDS = 0.008

# share of the work that is told of at most: putting the sounds into the page and the files into place comes last
MOST_SHARE = 0.99
# the page for students
PAGE = "lesson.html"

Files: TypeAlias = dict[str, bytes]


@dataclass(frozen=True, slots=True)
class Making:
    """A step of the making.

    name : in the catalogues, and of `EVENT_SECONDS`.
    make : what makes its files, by their names in the folder, handed those that were made before.
    events : of the routes that it is about.
    """

    name: str
    make: Callable[[Files], Files]
    events: int

    @property
    def work(self) -> float:
        """Seconds of a processor that it is about to take."""
        return self.events * EVENT_SECONDS[self.name]


@dataclass(frozen=True)
class LadderSound:
    """The sound of a tempo of a ladder.

    part : what makes its file; its small file for the page comes back.
    lesson, rung : what it is the sound of.
    """

    part: JobPart
    lesson: Lesson
    rung: Rung

    @cached_property
    def key(self) -> str:
        """What it depends on."""
        return sound_key(self.lesson, self.rung)


class FolderMaking:
    """The making of everything in a lesson's folder: the sounds beside the rest, which needs one processor only.

    common : what all sounds are made of.
    sounds_in : keys of the sounds in each file that has some, by name, once all is made.
    """

    def __init__(
        self, common: Any, makings: Sequence[Making], sounds: Sequence[LadderSound], folder: Path, progress: Progress
    ) -> None:
        self._common, self._folder, self._progress = common, folder, progress
        self._makings, self._sounds = makings, sounds
        self._left: Sequence[LadderSound] = sounds
        self.sounds_in: dict[str, tuple[str, ...]] = {}
        self._names: list[str] = []
        self._made: Files = {}
        self._done_steps, self._done_work = 0, 0.0

    def _tell(self, name: str, sounded: float, detail: str = "") -> None:
        """Say which step is at work, and what share of the whole work is done."""
        whole = sum(making.work for making in self._makings) + sum(sound.part.work for sound in self._left)
        steps = len(self._makings) + len(self._left)
        share = (self._done_work + sounded) / whole if whole else 0.0
        self._progress(ProgressStep(name, self._done_steps, steps, detail, min(share, MOST_SHARE)))

    def _make(self, making: Making, sounded: float) -> None:
        self._tell(making.name, sounded)
        for name, data in making.make(self._made).items():
            self._names.append(name)
            (self._folder / name).parent.mkdir(exist_ok=True)
            (self._folder / name).write_bytes(data)
            if making.name == "score":
                self._made[name] = data
        self._done_steps += 1
        self._done_work += making.work

    def _sound(self, sounding: SideBySide) -> list[bytes]:
        """Make the sounds that are left to make: their small files, in their order."""

        def tell(index: int) -> None:
            one = self._left[index]
            metre = metre_at(one.lesson.route.phrase, one.lesson.route.phrase.pickup)
            self._tell("sound", sounding.done_work, tempo_number(one.rung, metre))

        made: dict[int, bytes] = {}
        if self._left:
            tell(0)
        for index, sound in sounding.results(tell):
            made[index] = sound
            self._done_steps += 1
        return [made[index] for index in range(len(self._left))]

    def _all_sounds(self, kept: KeptSounds) -> list[bytes]:
        """Make everything but the page's sounds, which come back; what sounds as before is taken from there."""
        small = [kept.take(sound.key, sound.part.file) if kept else None for sound in self._sounds]
        self._left = [sound for sound, had in zip(self._sounds, small, strict=True) if had is None]
        work = sum(making.work for making in self._makings)
        with SideBySide(self._common, [sound.part for sound in self._left], beside=work) as sounding:
            for making in self._makings:
                self._make(making, sounding.done_work)
            self.sounds_in = self._keys()
            made = iter(self._sound(sounding))
        return [next(made) if had is None else had for had in small]

    def _keys(self) -> dict[str, tuple[str, ...]]:
        """Keys of the sounds in each file that has some, the page last; worked out while others are sounded."""
        places = places_of_sounds((self._folder / PAGE).read_bytes(), len(self._sounds))
        files = {sound.part.file.relative_to(self._folder).as_posix(): (sound.key,) for sound in self._sounds}
        return {**files, PAGE: tuple(self._sounds[place].key for place in places)}

    def names(self, kept: KeptSounds) -> tuple[str, ...]:
        """Make and write everything; the names of the files, the sounds before the page.

        kept : sounds that need not be made again.
        """
        for sound in self._sounds:
            sound.part.file.parent.mkdir(exist_ok=True)
        sounds = self._all_sounds(kept)
        page = self._folder / PAGE
        page.write_bytes(page_with_sounds(page.read_bytes(), sounds))
        at = self._names.index(PAGE)
        self._names[at:at] = [name for name in self.sounds_in if name != PAGE]
        return tuple(self._names)

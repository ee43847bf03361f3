"""The teacher's own film with the lesson's strip over it or beside it, and the strip alone for those who cut."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

from reedpath.errors import FilmError
from reedpath.film.captions import chapter_cues
from reedpath.film.cut_plays import ToldPlay, plays_in_cut, told_plays
from reedpath.film.cut_reader import CutFilm
from reedpath.film.encode import (
    FilmProgress,
    FilmShape,
    PictureLine,
    add_picture,
    chapter_tables,
    film_file,
    timed_frame,
    video_frame,
)
from reedpath.film.film_cut import FilmCut
from reedpath.film.film_reader import FilmFacts, Picture, SoundPacket, TeacherFilm
from reedpath.film.fitting import fitted_zone
from reedpath.film.frames import FramePainter
from reedpath.film.layout import lay_out_takes
from reedpath.film.planes import Plate
from reedpath.film.screens import Screen, Zone, load_screen
from reedpath.film.timeline import Timeline
from reedpath.lesson import Lesson
from reedpath.wording import Catalogue, load_catalogue

if TYPE_CHECKING:
    from reedpath.listen import PlayThrough

# sound that may stand in each container; what may stand in neither goes into Matroska (their registries)
_SOUND_OF = {
    "mp4": frozenset({"aac", "mp3", "mp3float", "opus", "alac", "ac3", "eac3", "flac"}),
    "mov": frozenset({"pcm_s16le", "pcm_s24le", "pcm_s32le", "pcm_f32le", "pcm_s16be", "pcm_s24be", "aac", "alac"}),
}
_PLACES = ("over", "beside")
_FRAMES = ("landscape", "upright")


@dataclass(frozen=True, slots=True)
class TakeWishes:
    """How the strip stands to the teacher's film.

    place : "over" the picture's lower third, or "beside" it in a frame of its own.
    frame : "landscape" or "upright", for "beside".
    palette : "night", "paper" or "ink".
    language : of headings and captions in the picture; the lesson's first where empty.
    """

    place: str = "over"
    frame: str = "landscape"
    palette: str = "night"
    language: str = ""

    def __post_init__(self) -> None:
        if self.place not in _PLACES:
            raise FilmError("film.unknown_place", name=self.place)
        if self.frame not in _FRAMES:
            raise FilmError("film.unknown_frame", name=self.frame)


def screen_for(facts: FilmFacts, wishes: TakeWishes) -> Screen:
    """The screen for a film; over a film it is as large as the film."""
    if wishes.place == "over":
        screen = load_screen("over-upright" if facts.is_upright else "over-landscape")
        return screen.fitted(facts.width, facts.height)
    if facts.is_upright:
        return load_screen("beside-upright-tall" if wishes.frame == "upright" else "beside-tall")
    return load_screen(f"beside-{wishes.frame}")


def takes_format(film: Path) -> str:
    """The kind of file that a teacher's film becomes, so that its sound can be passed on: "mp4", "mov" or "matroska".

    Raises `FilmError` when it cannot be read.
    """
    with TeacherFilm(film) as teacher:
        return _format_for(teacher.facts)


def film_facts(film: Path) -> FilmFacts:
    """What is known of a teacher's film; FilmError where it cannot be read."""
    with TeacherFilm(film) as teacher:
        return teacher.facts


def film_seconds(film: Path) -> float:
    """Length of a teacher's film; FilmError where it cannot be read."""
    return film_facts(film).seconds


def _format_for(facts: FilmFacts) -> str:
    for format, known in _SOUND_OF.items():
        if set(facts.sound_codecs) <= known:
            return format
    return "matroska"


def painter_for(
    lesson: Lesson, timeline: Timeline, facts: FilmFacts, screen: Screen, words: Catalogue, palette: str
) -> FramePainter:
    """The painter of a film's strip."""
    return FramePainter(
        lesson,
        timeline,
        screen,
        words,
        palette=palette,
        frames_per_second=max(1, round(facts.frame_rate)),
        coding=facts.coding,
    )


def shape_for(
    lesson: Lesson, timeline: Timeline, facts: FilmFacts, screen: Screen, words: Catalogue, time_base: Fraction
) -> FilmShape:
    """The shape of the film that is made of a teacher's film."""
    return FilmShape(
        screen.width,
        screen.height,
        max(1, round(facts.frame_rate)),
        max(1, round(facts.seconds * facts.frame_rate)),
        title=lesson.title,
        language=words.name,
        chapters=chapter_cues(lesson, timeline, words),
        coding=facts.coding,
        time_base=time_base,
        is_filmed=True,
    )


def _together(painter: FramePainter, teacher: TeacherFilm | CutFilm) -> Iterator[Picture | SoundPacket]:
    """The film's pictures with the strip, and its packets of sound as they are."""
    facts, screen = teacher.facts, painter.screen
    if screen.plate is not None:
        plate = Plate(screen.plate, painter.look.palette.inks["ground"], facts.coding)
        for one in teacher.read(facts.width, facts.height):
            if isinstance(one, Picture) and painter.timeline.scene_at(one.seconds) is not None:
                painter.draw(one.seconds)
                plate.lay(painter.frame, one.planes_to_draw_on())
            yield one
        return
    zone = fitted_zone(facts.width, facts.height, screen.picture or Zone(0, 0, screen.width, screen.height))
    for one in teacher.read(zone.width, zone.height):
        if isinstance(one, Picture):
            painter.draw(one.seconds)
            painter.frame.put(one.planes(), zone.left, zone.top)
            one = Picture(one.pts, one.seconds, video_frame(painter.frame.array))
        yield one


def film_takes(
    film: Path,
    lesson: Lesson,
    plays: Sequence[PlayThrough],
    path: Path,
    wishes: TakeWishes | None = None,
    *,
    progress: FilmProgress | None = None,
) -> Timeline:
    """Write the teacher's film with the strip in time with each play-through, and give its timeline.

    The sound is passed on packet by packet as it is in the file, and every picture keeps its time. Whatever goes
    wrong, interruption included, leaves no file.

    film : the teacher's film.
    plays : its play-throughs.
    path : of the file to be written, of the kind that `takes_format` says.
    progress : called with the frames done and about how many there are.

    Raises `FilmError` for a film that cannot be read, play-throughs that cannot be, a file that cannot be written.
    """
    wanted = wishes or TakeWishes()
    with TeacherFilm(film) as teacher:
        return _laid_over(teacher, lesson, plays, path, wanted, progress)


def film_as_cut(
    films: Sequence[Path],
    cut: FilmCut,
    lesson: Lesson,
    plays: Sequence[Sequence[PlayThrough]],
    path: Path,
    wishes: TakeWishes | None = None,
    *,
    progress: FilmProgress | None = None,
) -> Timeline:
    """Write what stays of the teacher's films, one stretch after the other, with the strip as in `film_takes`.

    The sound is coded anew, as AAC, and one stretch fades into the next for some hundredths of a second; pictures are
    cut where one ends and the next begins. The file is an MP4.

    films : those that the cut is of.
    plays : play-throughs of each of them.
    path : of the file to be written.

    Raises `FilmError` as `film_takes`, and for a cut that is none of them.
    """
    with CutFilm(films, cut) as teacher:
        plays_there = plays_in_cut(teacher.cut, plays)
        wanted, told = wishes or TakeWishes(), told_plays(teacher.cut)
        return _laid_over(teacher, lesson, plays_there, path, wanted, progress, told=told)


def _laid_over(
    teacher: TeacherFilm | CutFilm,
    lesson: Lesson,
    plays: Sequence[PlayThrough],
    path: Path,
    wishes: TakeWishes,
    progress: FilmProgress | None,
    *,
    told: Sequence[ToldPlay] = (),
) -> Timeline:
    words = load_catalogue(wishes.language or lesson.languages[0])
    facts = teacher.facts
    timeline = lay_out_takes(lesson, plays, film_seconds=facts.seconds, told=told)
    screen = screen_for(facts, wishes)
    painter = painter_for(lesson, timeline, facts, screen, words, wishes.palette)
    shape = shape_for(lesson, timeline, facts, screen, words, facts.time_base)
    with film_file(path, _format_for(facts)) as container:
        _write(container, shape, teacher, _together(painter, teacher), progress)
    return timeline


def _write(
    container: Any,
    shape: FilmShape,
    teacher: TeacherFilm | CutFilm,
    parts: Iterator[Picture | SoundPacket],
    progress: FilmProgress | None,
) -> None:
    picture = add_picture(container, shape)
    put_sound = teacher.sound_into(container)
    container.metadata["title"] = shape.title
    container.set_chapters(chapter_tables(shape.chapters))
    done, last = 0, None
    with PictureLine(container, picture) as line:
        for one in parts:
            if isinstance(one, SoundPacket):
                put_sound(one)
                continue
            if last is not None and one.pts <= last:  # a picture that comes twice, or out of order
                continue
            last = one.pts
            line.put(timed_frame(one.shown, shape, one.pts))
            done += 1
            if progress is not None:
                progress(done, max(done, shape.frames))
        put_sound(None)

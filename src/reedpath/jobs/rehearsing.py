"""Rehearsing: all that somebody needs who plays a lesson or a phrase along with the microphone open."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from reedpath.arrange import Route
from reedpath.errors import SettingsError
from reedpath.harp import Harp, Move, format_move, load_notation
from reedpath.jobs.arranging import RouteRequest, best_route
from reedpath.jobs.band_choices import BandChoice, SaidPlaces, backing_of, check_band, said_places
from reedpath.jobs.lesson_folders import lesson_of_version
from reedpath.jobs.long_notes import natural_cents
from reedpath.jobs.practising import PractiseWishes, sound_practice_rung
from reedpath.jobs.progress import Progress, ProgressStep, silent
from reedpath.lesson import Lesson, Rung, make_lesson, rungs_named
from reedpath.listen import LiveAsked
from reedpath.listen.expected import sounding_midi
from reedpath.page import StripPicture, event_labels, parts_in_beats, signs_of_route, strip_picture
from reedpath.phrase import decode_phrase, metre_at, timing_of
from reedpath.shelf import LessonVersion
from reedpath.sound import Backing, PlayAlong, Turns, counted_in, lay_out, lay_out_backing, tempo_number
from reedpath.wording import Catalogue, load_catalogue, move_words

# rounds that the band may play
MOST_ROUNDS = 4
# name of the sound in its folder
SOUND = "play-along.wav"


class RehearsalWishes(Struct, frozen=True, kw_only=True):
    """How it is played along.

    rung : name of the tempo; empty for the lesson's slowest.
    is_played : whether the harmonica sounds along.
    has_band, has_click : whether a band plays, and whether the click goes on after the count-in.
    rounds : how many times the phrase goes round where a band plays.
    in_turns : whether the harmonica, where a band plays, leaves every second turn to the student.
    band : what else was chosen of the band.
    """

    rung: str = ""
    is_played: bool = True
    has_band: bool = False
    has_click: bool = False
    rounds: int = 1
    in_turns: bool = False
    band: BandChoice = BandChoice()

    def play(self, route: Route) -> PlayAlong:
        """What the play-along of a route is to hold."""
        self.check()
        turns = Turns.TOGETHER if self.is_played else Turns.YOURS
        if self.has_band:
            whose = Turns.CALL if self.in_turns else turns
            return backing_of(self.band, route, turns=whose, rounds=self.rounds, click_through=self.has_click)
        return PlayAlong(click_through=self.has_click, turns=turns)

    def check(self) -> None:
        """SettingsError or SoundError for what can't be had, whatever the lesson."""
        if not 1 <= self.rounds <= MOST_ROUNDS:
            raise SettingsError("jobs.rehearsal_rounds", count=self.rounds, most=MOST_ROUNDS)
        check_band(self.band)


class RehearsedEvent(Struct, frozen=True):
    """An event as the page knows it.

    start, end : seconds from beat 0, at the tempo that is played.
    targets : for each sounding hole, the hole and how many semitones its pitch lies above the natural note.
    natural_cents : where the unbent note lies from the target of a bend or overbend, cents; None for others.
    tab, says : the move, written and in words. sign : which picture of a move it has, by its number.
    """

    start: float
    end: float
    targets: tuple[tuple[int, float], ...]
    natural_cents: float | None
    tab: str
    says: str
    sign: int


class Rehearsal(Struct, frozen=True):
    """A rehearsal that is ready.

    lesson : what is rehearsed. rung : its tempo.
    asked : what a live session listens for; its rate is to be put in.
    sound : name of the play-along's file. seconds : its length.
    rounds : where beat 0 of each round lies in the sound, seconds. counts : the beats counted before, seconds and
        number. ends_seconds : where the last round's last note ends, in the sound.
    picture : the strip that runs. clock : seconds from beat 0 and rows from the strip's beginning, at places between
        which it runs evenly.
    places : where in the form it stands, and where it would sit best.
    """

    lesson: Lesson
    rung: Rung
    asked: LiveAsked
    sound: str
    seconds: float
    rounds: tuple[float, ...]
    counts: tuple[tuple[float, int], ...]
    ends_seconds: float
    events: tuple[RehearsedEvent, ...]
    picture: StripPicture
    clock: tuple[tuple[float, float], ...]
    places: SaidPlaces = SaidPlaces()


def lesson_to_rehearse(version: LessonVersion, piece: str = "") -> Lesson:
    """The lesson of a kept version; of several pieces the one of that folder, the first for none."""
    taught = lesson_of_version(version)
    if isinstance(taught, Lesson):
        return taught
    found = [one.lesson for one in taught.pieces if one.folder == piece or not piece]
    if not found:
        raise SettingsError("jobs.no_piece_called", name=piece, names=[one.folder for one in taught.pieces])
    return found[0]


def lesson_of_phrase(data: str, request: RouteRequest, *, title: str, notation: str) -> Lesson:
    """A phrase on its best harp, or the one asked for, as a lesson: with tempos to play it at."""
    return make_lesson(best_route(decode_phrase(data.encode()), request), title=title, notation=notation)


def _targets(harp: Harp, move: Move) -> tuple[tuple[int, float], ...]:
    naturals = [sounding_midi(harp, Move((hole,), move.breath))[0] for hole in move.holes]
    pitches = sounding_midi(harp, move)
    return tuple(
        (hole, round(own - natural, 3)) for hole, own, natural in zip(move.holes, pitches, naturals, strict=True)
    )


def _events(route: Route, factor: float, notation: str, catalogue: Catalogue) -> Iterator[RehearsedEvent]:
    timing, tab = timing_of(route.phrase).scaled(factor), load_notation(notation)
    signs = signs_of_route(route, notation=notation).of_events
    for one, sign in zip(route.events, signs, strict=True):
        move = one.choice.move
        yield RehearsedEvent(
            start=round(timing.seconds_at(one.event.onset), 4),
            end=round(timing.seconds_at(one.event.end), 4),
            targets=() if move is None else _targets(route.harp, move),
            natural_cents=None if move is None else natural_cents(route.harp, move),
            tab="" if move is None else format_move(move, tab),
            says=move_words(move, catalogue),
            sign=sign,
        )


def _clock(route: Route, factor: float, strip: StripPicture) -> tuple[tuple[float, float], ...]:
    """Seconds and rows at each event's edges, each half beat (a swung one's too), and a bar before and after."""
    timing = timing_of(route.phrase).scaled(factor)
    halves = range(-8, 2 * (int(route.phrase.end) + 5))
    beats = {Fraction(half, 2) for half in halves}
    beats |= {edge for one in route.events for edge in (one.event.onset, one.event.end)}
    return tuple(
        (round(timing.seconds_at(beat), 4), round(float(beat) * strip.beat_rows, 4)) for beat in sorted(beats)
    )


def _picture(route: Route, lesson: Lesson, catalogue: Catalogue) -> StripPicture:
    return strip_picture(
        replace(route, spots=tuple(drill.spot for drill in lesson.drills)),
        notation=lesson.notation,
        parts=parts_in_beats(lesson, catalogue.name),
        words=event_labels(route, catalogue),
        signs=signs_of_route(route, notation=lesson.notation),
    )


def prepare_rehearsal(
    folder: Path,
    lesson: Lesson,
    wishes: RehearsalWishes,
    *,
    language: str,
    notes: str = "",
    progress: Progress = silent,
) -> Rehearsal:
    """Sound a play-along into a folder, and lay out all that is seen and listened for.

    language, notes : of the page, and how it names notes.
    """
    play = wishes.play(lesson.route)
    rung = rungs_named(lesson.ladder, (wishes.rung,))[0] if wishes.rung else lesson.ladder[0]
    catalogue = load_catalogue(language, notes=notes or None)
    route = lesson.route
    if isinstance(play, Backing):
        with_band = lay_out_backing(lesson, rung, play)
        route, clicks, seconds = with_band.route, with_band.clicks, with_band.seconds
        zeros = tuple(one.zero_seconds for one in with_band.rounds)
    else:
        layout = lay_out(lesson, rung, play)
        clicks, seconds, zeros = layout.clicks, layout.seconds, (layout.zero_seconds,)
    tempo = tempo_number(rung, metre_at(lesson.route.phrase, lesson.route.phrase.pickup))
    progress(ProgressStep("sound", 0, 1, tempo, 0.0))

    def report(share: float) -> None:
        progress(ProgressStep("sound", 0, 1, tempo, share))

    with (folder / SOUND).open("wb") as file:

        def put(piece: bytes) -> None:
            file.write(piece)

        sound_practice_rung(lesson, PractiseWishes(play=play), rung, put=put, report=report)
    events = tuple(_events(route, rung.factor, lesson.notation, catalogue))
    picture = _picture(route, lesson, catalogue)
    return Rehearsal(
        lesson=lesson,
        rung=rung,
        asked=LiveAsked(harp=route.harp, rate=0, route=route, factor=rung.factor, notation=lesson.notation),
        sound=SOUND,
        seconds=round(seconds, 3),
        rounds=tuple(round(zero, 4) for zero in zeros),
        counts=tuple((round(click.seconds, 4), number) for click, number in counted_in(clicks, zeros[0])),
        ends_seconds=round(zeros[-1] + max((one.end for one in events), default=0.0), 3),
        events=events,
        picture=picture,
        clock=_clock(route, rung.factor, picture),
        places=said_places(wishes.band, lesson.route, catalogue),
    )

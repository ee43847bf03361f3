"""A letter to a student about the last take, as a teacher would write it; what the teacher made of it stays.

One thing that truly went well, measured; one or two points with place and remedy; the next step. Praise is for what
was done and never for the person, and nothing is praised that was not measured (docs/students.md says from where).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec import Struct
from msgspec.structs import replace

from reedpath.arrange import Route
from reedpath.errors import SettingsError, clean_text
from reedpath.jobs.student_progress import DueThing, HeardTake, StudentProgress
from reedpath.listen import (
    MOST_POINTS,
    HarpHeard,
    NextStepKind,
    PlayAnswer,
    PraiseKind,
    Tries,
    harp_heard_words,
    is_in_part,
    next_step_of,
    practise_words,
    praise_of,
    praise_words,
    remedy_words,
)
from reedpath.listen import next_step_words as words_of_step
from reedpath.phrase import metre_at, numbered_bars, timing_of
from reedpath.shelf import KeptLetter, Shelf, now_text
from reedpath.skill import StudentSkill, skill_settings, tempo_for
from reedpath.wording import Catalogue, bars_words, counted_bpm

# by how much more is right than the last time for that to be told; ours
BETTER_BY = 0.05
# shares of the notes right from which on a lesson is done with, and the share of the tempo that is full; ours
DONE, FULL = 0.95, 0.95
# share of the tempo that was played at which a spot is practised apart; ours, like a rung of the ladder (`lesson`)
APART = 0.7
# next steps that a take by itself decides, whatever the student is like
_OF_THE_TAKE = {NextStepKind.HARP, NextStepKind.SWING, NextStepKind.CLICK, NextStepKind.REST, NextStepKind.TOGETHER}


class FollowingPhrase(Struct, frozen=True):
    """The phrase that could come next: its title, and the share of its tempo to begin with, where one is known."""

    title: str
    tempo: float | None


def _percent(share: float) -> int:
    return round(100 * share)


def bars_of_events(route: Route, events: Sequence[int], words: Catalogue) -> str:
    """The bars of some events in words."""
    numbered = numbered_bars(route.phrase)
    onsets = sorted(route.phrase.events[event].onset for event in events)
    return bars_words(list(dict.fromkeys(numbered.at(onset) for onset in onsets)), words)


def due_words(thing: DueThing, words: Catalogue) -> str:
    """What is to be practised, in words: a technique, a lesson, or a place in one."""
    if thing.technique is not None:
        return words.say(f"skill.technique.{thing.technique.value}")
    if thing.spot is None or thing.route is None:
        return words.say("shelf.people.phrase", title=thing.title)
    events = range(thing.spot[0], thing.spot[1] + 1)
    return words.say("shelf.people.spot", title=thing.title, place=bars_of_events(thing.route, events, words))


def went_well_words(
    route: Route, play: PlayAnswer, earlier: PlayAnswer | None, words: Catalogue, *, tries: Tries | None = None
) -> str | None:
    """One thing that truly went well, as a sentence; None where nothing that is measured says so.

    earlier : the best play-through of the last time. tries : those of the same recording.
    """
    praise = praise_of(play, tries)
    is_all = praise is not None and praise.kind is PraiseKind.ALL
    if not is_all and earlier is not None and play.right_share >= earlier.right_share + BETTER_BY:
        return words.say("letter.well.better", before=_percent(earlier.right_share), now=_percent(play.right_share))
    return None if praise is None else praise_words(praise, route, words)


def points_words(route: Route, play: PlayAnswer, words: Catalogue) -> Iterator[str]:
    """One or two points, each with place and remedy."""
    for thing in play.practise[:MOST_POINTS]:
        yield f"{practise_words(thing, play, route, words)} {remedy_words(thing, play, words)}".rstrip()


def _beats(route: Route, factor: float) -> int:
    """A share of the tempo as beats of the click."""
    phrase = route.phrase
    bpm = timing_of(phrase).bpm_at(0) * factor
    return round(counted_bpm(bpm, metre_at(phrase, phrase.events[0].onset)))


def next_step_words(
    route: Route,
    play: PlayAnswer,
    skill: StudentSkill,
    following: FollowingPhrase | None,
    words: Catalogue,
    *,
    harp_heard: HarpHeard | None = None,
) -> str:
    """What to do next, as a sentence.

    harp_heard : another harp than the lesson's.
    """
    factor, step = play.tempo.factor, next_step_of(play, route, harp_heard)
    if step.kind in _OF_THE_TAKE:
        return words_of_step(step, harp_heard, route, words)
    if play.right_share < skill_settings().told.aim:
        tempo = tempo_for(skill, route)
        if tempo is None and play.spots:
            spot = max(play.spots, key=lambda one: one.last - one.first)
            place = bars_of_events(route, range(spot.first, spot.last + 1), words)
            return words.say("listen.next.apart", place=place, bpm=_beats(route, factor * APART))
        return words.say("listen.next.slower", bpm=_beats(route, min(factor, tempo or factor * APART)))
    if step.kind is NextStepKind.FASTER:
        # a step of the ladder: a tenth, never beyond the tempo
        return words.say("listen.next.faster", bpm=_beats(route, min(1.0, factor + 0.1)))
    if is_done(play, route) and following is not None:
        if following.tempo is None:
            return words.say("letter.next.phrase_slowly", title=following.title)
        return words.say("letter.next.phrase", title=following.title, percent=_percent(following.tempo))
    if step.kind is NextStepKind.TOMORROW:
        return words_of_step(step, harp_heard, route, words)
    return words.say("listen.next.again")


def is_done(play: PlayAnswer, route: Route) -> bool:
    """Whether a lesson is played so that another may follow."""
    is_whole = not play.is_by_parts and not is_in_part(play, route)
    return play.right_share >= DONE and play.tempo.factor >= FULL and is_whole


def _play_before(progress: StudentProgress, take: HeardTake) -> PlayAnswer | None:
    """The best play-through of the take before, of the same lesson and piece."""
    of_what = take.lesson, take.piece
    before = [one for one in progress.takes if (one.lesson, one.piece) == of_what and one.take != take.take]
    return before[-1].answer.best_play if before else None


def of_piece_words(title: str, line: str, words: Catalogue) -> str:
    """A sentence about a piece of a lesson with its title before it; as it is where there is none."""
    name = words.say("part.named", label=title)
    return words.say("listen.pieces.place", piece=name, line=line) if title else line


def _points_of(played: Sequence[tuple[HeardTake, PlayAnswer]], words: Catalogue) -> list[str]:
    """One or two points: of several pieces the first of each of those that need it most, else two of the one.

    played : pieces with their best play-throughs, the one that needs it most first.
    """
    told = [
        [of_piece_words(take.piece_title, point, words) for point in points_words(take.route, play, words)]
        for take, play in played
    ]
    firsts = [points[0] for points in told if points]
    return firsts[:MOST_POINTS] if len(firsts) > 1 else next((points for points in told if points), [])


def letter_text(progress: StudentProgress, following: FollowingPhrase | None, words: Catalogue) -> str:
    """A letter about the last take of a student.

    following : the phrase that could come next.

    Raises `SettingsError` where no take of the student has been answered yet.
    """
    if not progress.takes:
        raise SettingsError("jobs.no_takes_heard", name=progress.student.name)
    last = [one for one in progress.takes if one.take.number == progress.takes[-1].take.number]
    title = words.say("letter.about", title=last[0].title)
    lines = [words.say("letter.greeting", name=progress.student.name), ""]
    played = [(one, play) for one in last if (play := one.answer.best_play) is not None]
    if not played:
        lines += [title, words.say("letter.not_heard")]
    else:
        # of several pieces what went best, what went worst, and what is to be done there
        played.sort(key=lambda one: one[1].right_share)
        (take, play), (best_take, best_play) = played[0], played[-1]
        earlier = _play_before(progress, best_take)
        well = went_well_words(best_take.route, best_play, earlier, words, tries=best_take.answer.tries)
        lines += [title + ("" if well is None else f" {of_piece_words(best_take.piece_title, well, words)}")]
        points = _points_of(played, words)
        if points:
            lines += ["", words.say("letter.points", count=len(points)), *(f"- {one}" for one in points)]
        heard = take.answer.harp_heard
        if heard is not None:
            lines += ["", harp_heard_words(heard, take.route, words)]
        step = next_step_words(take.route, play, progress.skill, following, words, harp_heard=heard)
        # where there are points, they have said which piece it is
        lines += ["", step if points or len(played) == 1 else of_piece_words(take.piece_title, step, words)]
    return "\n".join([*lines, "", words.say("letter.ending")]) + "\n"


def propose_letter(
    shelf: Shelf, progress: StudentProgress, following: FollowingPhrase | None, words: Catalogue
) -> KeptLetter:
    """Keep a letter as the program proposes it, for the teacher to change."""
    text = letter_text(progress, following, words)
    letter = KeptLetter(
        student=progress.student.number, language=words.name, proposed=text, text=text, added=now_text()
    )
    with shelf.step("letter"):
        return shelf.add(letter)


def change_letter(shelf: Shelf, number: int, text: str) -> KeptLetter:
    """Let a letter be what the teacher made of it; as proposed it is kept beside."""
    letter = shelf.get(KeptLetter, number)
    # lines stay lines
    changed = replace(letter, text="\n".join(clean_text(line) for line in text.splitlines()).strip() + "\n")
    with shelf.step("letter"):
        if changed != letter:
            shelf.change(changed)
    return changed

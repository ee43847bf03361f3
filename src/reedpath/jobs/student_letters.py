"""A letter to a student about the last take, as a teacher would write it; what the teacher made of it stays.

One thing that truly went well, measured; one or two points with place and remedy; the next step. Praise is for what
was done and never for the person, and nothing is praised that was not measured (docs/students.md says from where).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from statistics import median

from msgspec import Struct
from msgspec.structs import replace

from reedpath.arrange import Route
from reedpath.errors import SettingsError, clean_text
from reedpath.jobs.student_progress import DueThing, HeardTake, StudentProgress
from reedpath.listen import EventAnswer, FaultKind, PlayAnswer, Verdict, practise_words
from reedpath.phrase import metre_at, numbered_bars, timing_of
from reedpath.shelf import KeptLetter, Shelf, now_text
from reedpath.skill import SkillTechnique, StudentSkill, skill_settings, tempo_for
from reedpath.skill.demands import technique_of
from reedpath.wording import Catalogue, bars_words, counted_bpm

__all__ = [
    "FollowingPhrase",
    "bars_of_events",
    "change_letter",
    "due_words",
    "letter_text",
    "next_step_words",
    "points_words",
    "propose_letter",
    "went_well_words",
]

# points that a letter makes: one or two a recording (trade habit)
MOST_POINTS = 2
# what went well is told from here on: by how much more is right than the last time, how many notes right in a row,
# and bends in tune, so many of them and within so many cents in the middle: half of what is told as flat; ours
BETTER_BY, FEWEST_IN_A_ROW, FEWEST_BENDS, IN_TUNE_CENTS = 0.05, 4, 3, 10.0
# shares of the notes right from which on a lesson is done with, and the share of the tempo that is full; ours
DONE, FULL = 0.95, 0.95
# share of the tempo that was played at which a spot is practised apart; ours, like a rung of the ladder (`lesson`)
APART = 0.7
# kinds of faults whose sentence says already what to do (`listen.fault` in the catalogues)
_WITH_REMEDY = frozenset(
    {
        FaultKind.GLIDE,
        FaultKind.UNSTEADY,
        FaultKind.HOLE_MISSING,
        FaultKind.HOLE_WRONG,
        FaultKind.HOLE_TOO_MANY,
        FaultKind.RESTART,
    }
)
_BENDS = frozenset({SkillTechnique.HALF_BENDS, SkillTechnique.DEEP_BENDS, SkillTechnique.BLOW_BENDS})


class FollowingPhrase(Struct, frozen=True):
    """The phrase that could come next: its title, and the share of its tempo to begin with, where one is known."""

    title: str
    tempo: float | None


def _best(take: HeardTake) -> PlayAnswer | None:
    return None if take.answer.best is None else take.answer.plays[take.answer.best]


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


def _longest_right(play: PlayAnswer) -> list[EventAnswer]:
    longest: list[EventAnswer] = []
    running: list[EventAnswer] = []
    for one in play.events:
        running = [] if one.faults else [*running, one]
        longest = max(longest, running, key=len)
    return longest


def _bends_in_tune(route: Route, play: PlayAnswer) -> list[float]:
    """Cents off of the bends that were played, in absolute value."""
    return [
        abs(one.cents)
        for one in play.events
        if one.cents is not None
        and one.verdict is Verdict.PLAYED
        and technique_of(route.events[one.event].choice) in _BENDS
    ]


def went_well_words(route: Route, play: PlayAnswer, earlier: PlayAnswer | None, words: Catalogue) -> str | None:
    """One thing that truly went well, as a sentence; None where nothing that is measured says so.

    earlier : the best play-through of the last time.
    """
    if not any(one.faults for one in play.events):
        return words.say("letter.well.all", count=len(play.events))
    if earlier is not None and play.right_share >= earlier.right_share + BETTER_BY:
        return words.say("letter.well.better", before=_percent(earlier.right_share), now=_percent(play.right_share))
    bends = _bends_in_tune(route, play)
    if len(bends) >= FEWEST_BENDS and median(bends) <= IN_TUNE_CENTS:
        return words.say("letter.well.bends", count=len(bends))
    run = _longest_right(play)
    if len(run) >= FEWEST_IN_A_ROW:
        place = bars_of_events(route, [one.event for one in run], words)
        return words.say("letter.well.row", count=len(run), place=place)
    if play.tempo.kept and len(play.events) >= FEWEST_IN_A_ROW:
        return words.say("letter.well.tempo")
    return None


def points_words(route: Route, play: PlayAnswer, words: Catalogue) -> Iterator[str]:
    """One or two points, each with place and remedy."""
    for thing in play.practise[:MOST_POINTS]:
        told = practise_words(thing, play, route, words)
        is_bent = thing.kind in (FaultKind.FLAT, FaultKind.SHARP) and thing.move is not None and thing.move.semitones
        if thing.kind in _WITH_REMEDY or is_bent:
            yield told
        else:
            yield f"{told} {words.say(f'letter.remedy.{thing.kind.value}')}"


def _beats(route: Route, factor: float) -> int:
    """A share of the tempo as beats of the click."""
    phrase = route.phrase
    bpm = timing_of(phrase).bpm_at(0) * factor
    return round(counted_bpm(bpm, metre_at(phrase, phrase.events[0].onset)))


def next_step_words(
    route: Route, play: PlayAnswer, skill: StudentSkill, following: FollowingPhrase | None, words: Catalogue
) -> str:
    """What to do next, as a sentence."""
    factor = play.tempo.factor
    if play.right_share < skill_settings().told.aim:
        tempo = tempo_for(skill, route)
        if tempo is None and play.spots:
            spot = max(play.spots, key=lambda one: one.last - one.first)
            place = bars_of_events(route, range(spot.first, spot.last + 1), words)
            return words.say("letter.next.apart", place=place, bpm=_beats(route, factor * APART))
        return words.say("letter.next.slower", bpm=_beats(route, min(factor, tempo or factor * APART)))
    if factor < FULL:
        # a step of the ladder: a tenth, never beyond the tempo
        return words.say("letter.next.faster", bpm=_beats(route, min(1.0, factor + 0.1)))
    if play.right_share >= DONE and following is not None:
        if following.tempo is None:
            return words.say("letter.next.phrase_slowly", title=following.title)
        return words.say("letter.next.phrase", title=following.title, percent=_percent(following.tempo))
    return words.say("letter.next.again")


def letter_text(progress: StudentProgress, following: FollowingPhrase | None, words: Catalogue) -> str:
    """A letter about the last take of a student.

    following : the phrase that could come next.

    Raises
    ------
    SettingsError
        Where no take of the student has been answered yet.
    """
    if not progress.takes:
        raise SettingsError("jobs.no_takes_heard", name=progress.student.name)
    take = progress.takes[-1]
    play = _best(take)
    title = words.say("letter.about", title=take.title)
    lines = [words.say("letter.greeting", name=progress.student.name), ""]
    if play is None:
        lines += [title, words.say("letter.not_heard")]
    else:
        before = next((one for one in reversed(progress.takes[:-1]) if one.lesson == take.lesson), None)
        well = went_well_words(take.route, play, None if before is None else _best(before), words)
        lines += [title + ("" if well is None else f" {well}")]
        points = list(points_words(take.route, play, words))
        if points:
            lines += ["", words.say("letter.points", count=len(points)), *(f"- {one}" for one in points)]
        lines += ["", next_step_words(take.route, play, progress.skill, following, words)]
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

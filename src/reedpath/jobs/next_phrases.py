"""The next phrase for a student: of those on the shelf, the ones that are one small step harder."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from reedpath.arrange import Player, Route, Weights, find_route, load_player, load_weights, octave_shifts, survey
from reedpath.errors import ReedpathError
from reedpath.jobs.instruments import HarpChoice, chosen_harps, one_harp
from reedpath.jobs.progress import Progress, ProgressStep, silent
from reedpath.jobs.student_progress import KeptPlaying, StudentProgress
from reedpath.lesson import PlayingTechnique
from reedpath.phrase import decode_phrase
from reedpath.shelf import KeptPhrase, Shelf, TaughtPhrase
from reedpath.skill import (
    SkillTechnique,
    StudentSkill,
    chance_of,
    demands_of,
    expected_share,
    least_sure,
    skill_settings,
    suited_weights,
    tempo_for,
)

# phrases whose routes are looked for: a survey of one takes some tens of milliseconds
MOST_TRIED = 24
# what the techniques that a shelf names ask
_ASKS = {
    PlayingTechnique.OVERDRAWS: SkillTechnique.OVERDRAWS,
    PlayingTechnique.OVERBLOWS: SkillTechnique.OVERBLOWS,
    PlayingTechnique.BLOW_BENDS: SkillTechnique.BLOW_BENDS,
    PlayingTechnique.DRAW_BENDS: SkillTechnique.DEEP_BENDS,
    PlayingTechnique.SPLITS: SkillTechnique.SPLITS,
    PlayingTechnique.CHORDS: SkillTechnique.CHORDS,
}
# by how much more a route must come right to be told beside the one that is taught, and lessons told of, the last
# played; ours
BETTER_BY, MOST_LESSONS = 0.03, 4
# depths in semitones of a player who can bend
_DEPTHS = (1, 2, 3)


class NextPhrase(Struct, frozen=True):
    """A phrase that a student could play next.

    number, title : on the shelf. route : that suits the student, on a harp that he or she has.
    share : of its notes expected right at full tempo.
    tempo : fastest share of the written tempo at which four notes in five are expected right; None where it is none.
    technique : the one of its techniques that is least sure.
    """

    number: int
    title: str
    route: Route
    share: float
    tempo: float | None
    technique: SkillTechnique | None


class SuitedLesson(Struct, frozen=True):
    """How a lesson that a student has played suits him or her.

    lesson : on the shelf. title : its own, or of its piece that was played.
    share : of its notes expected right at full tempo, as it is taught. tempo : as for a `NextPhrase`.
    other : another route on the same harp that suits clearly better, with the share expected of it; None for none.
    """

    lesson: int
    title: str
    share: float
    tempo: float | None
    other: tuple[Route, float] | None


def player_of(playing: KeptPlaying) -> Player:
    """The player that a student is: the level, and beside it each technique that he or she is said to have."""
    student = playing.student
    player = load_player(student.level or None)
    said = set(student.techniques)
    return player.allowing(
        draw_bends=_DEPTHS if PlayingTechnique.DRAW_BENDS in said else None,
        blow_bends=_DEPTHS if PlayingTechnique.BLOW_BENDS in said else None,
        overblows=True if PlayingTechnique.OVERBLOWS in said else None,
        overdraws=True if PlayingTechnique.OVERDRAWS in said else None,
        splits=True if PlayingTechnique.SPLITS in said else None,
        chords=True if PlayingTechnique.CHORDS in said else None,
    )


def candidates_of(shelf: Shelf, playing: KeptPlaying) -> tuple[KeptPhrase, ...]:
    """The phrases of a shelf that no lesson teaches which the student has played."""
    played = {one.phrase for one in shelf.all(TaughtPhrase) if one.version in playing.versions}
    return tuple(one for one in shelf.all(KeptPhrase) if one.number not in played)


def _guessed_share(phrase: KeptPhrase, skill: StudentSkill) -> float:
    """About the share of notes that would be right, from what the shelf says of a phrase; no route is looked for."""
    points = 1.0 if phrase.difficulty is None else phrase.difficulty
    known = [one for one in PlayingTechnique if one in phrase.techniques and one in _ASKS]
    shares = [chance_of(skill, technique, points).share for technique in {_ASKS[one] for one in known}]
    plain = chance_of(skill, SkillTechnique.PLAIN, points).share
    # most notes of most phrases are plain ones; ours
    return (3 * plain + sum(shares)) / (3 + len(shares))


def suited_route(phrase: KeptPhrase, playing: KeptPlaying, weights: Weights) -> Route | None:
    """The route of a phrase that suits a student best, on the harps that he or she has; None where none plays it.

    weights : as they suit the student (`skill.suited_weights`).
    """
    owned = [one_harp(HarpChoice(tunings=(one.tuning,)), key=one.key) for one in playing.harps]
    try:
        found = survey(
            decode_phrase(phrase.data.encode()),
            owned or chosen_harps(HarpChoice()),
            shifts=octave_shifts(any_key=False),
            player=player_of(playing),
            weights=weights,
            top=1,
        )
        return found.ranked[0].route(alike=True) if found.ranked else None
    except ReedpathError:  # out of every reach, or a phrase that another version wrote
        return None


def next_phrases(
    phrases: Sequence[KeptPhrase],
    playing: KeptPlaying,
    progress: StudentProgress,
    *,
    most: int = 3,
    tell: Progress = silent,
) -> tuple[NextPhrase, ...]:
    """Of some phrases those whose share of notes expected right is nearest to the aim, the nearest first."""
    skill, aim = progress.skill, skill_settings().told.aim
    weights = suited_weights(load_weights(), skill)
    likely = sorted(phrases, key=lambda one: (abs(_guessed_share(one, skill) - aim), one.number))[:MOST_TRIED]
    found: list[tuple[float, KeptPhrase, Route]] = []
    for done, phrase in enumerate(likely):
        tell(ProgressStep("arranging", done, len(likely), share=done / len(likely)))
        route = suited_route(phrase, playing, weights)
        if route is not None and any(one.choice.move is not None for one in route.events):
            found.append((expected_share(skill, demands_of(route)), phrase, route))
    found.sort(key=lambda one: (abs(one[0] - aim), one[1].number))
    return tuple(
        NextPhrase(phrase.number, phrase.title, route, share, tempo_for(skill, route), least_sure(skill, route))
        for share, phrase, route in found[:most]
    )


def suited_lessons(playing: KeptPlaying, progress: StudentProgress) -> tuple[SuitedLesson, ...]:
    """The lessons that a student has played last: tempos that suit, and routes that suit better than those taught."""
    skill, weights = progress.skill, suited_weights(load_weights(), progress.skill)
    last = {(take.lesson, take.piece): take for take in progress.takes}
    found = []
    for take in list(reversed(list(last.values())))[:MOST_LESSONS]:
        taught = take.route
        share = expected_share(skill, demands_of(taught))
        route = find_route(taught.phrase, taught.harp, player=player_of(playing), weights=weights)
        likely = expected_share(skill, demands_of(route))
        suits = route.truth >= taught.truth and likely >= share + BETTER_BY
        other = (route, likely) if suits else None
        found.append(SuitedLesson(take.lesson, take.what, share, tempo_for(skill, taught), other))
    return tuple(found)

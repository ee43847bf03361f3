"""The answer to a take of several pieces in words: first how it went over all, then each piece by itself."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from reedpath.listen.answer import Answer, PlayAnswer
from reedpath.listen.answer_kinds import NextStepKind, Notice
from reedpath.listen.answer_text import MOST_POINTS, answer_lines, heading_words, notice_words
from reedpath.wording import Catalogue

# pieces that are given points to practise, those that need it most; of the others it is told how they went. One point
# each, and two where one begins: a teacher makes one or two in all (`answer_text`), and each of these is for a phrase
# of its own
MOST_MENDED, POINTS_EACH = 3, 1
# share of the notes by which one piece must be better than another for that to be told; ours
BETTER_BY = 0.01


class PieceTold(NamedTuple):
    """The answer to one piece of a lesson.

    heading : of the piece. name : what it is called in a sentence.
    """

    heading: str
    name: str
    answer: Answer


class _Played(NamedTuple):
    """A piece that is heard, with its best play-through."""

    told: PieceTold
    best: PlayAnswer

    @property
    def need(self) -> tuple[float, float]:
        """How much it needs to be practised: first the share of notes that are not right, then what is told of it."""
        return 1.0 - self.best.right_share, sum(thing.weight for thing in self.best.practise)

    @property
    def is_whole_and_right(self) -> bool:
        return self.best.play.whole and not self.best.practise and self.best.right == len(self.best.events)


def _over_all(played: Sequence[_Played], unheard: Sequence[str], words: Catalogue) -> Iterator[str]:
    """Which pieces are heard, which not, which came out best and where to begin."""
    names = [one.told.name for one in played]
    yield words.say("listen.pieces.heard", count=len(names), pieces=words.join(names))
    if unheard:
        yield words.say("listen.pieces.unheard", count=len(unheard), pieces=words.join(unheard))
    if len(played) == 1:
        return
    if all(one.is_whole_and_right for one in played):
        yield words.say("listen.pieces.all_right")
        return
    first = max(played, key=lambda one: one.need)
    best = min(played, key=lambda one: one.need)
    if best.best.right_share >= first.best.right_share + BETTER_BY:
        yield words.say("listen.pieces.best", piece=best.told.name, **_counted(best))
        yield words.say("listen.pieces.begin", piece=first.told.name, **_counted(first))
    elif first.best.practise:
        yield words.say("listen.pieces.begin_with", piece=first.told.name)


def _counted(one: _Played) -> dict[str, int]:
    return {"count": one.best.right, "notes": len(one.best.heard_events)}


def _is_for_tomorrow(one: _Played) -> bool:
    step = one.told.answer.next_step
    return step is not None and step.kind is NextStepKind.TOMORROW


def format_pieces(
    title: str, told: Sequence[PieceTold], unheard: Sequence[str], catalogue: Catalogue, *, everything: bool = False
) -> str:
    """
    The answer to a take of a lesson of several pieces as text.

    Parameters
    ----------
    title : of the lesson. told : the pieces that are heard; where none is, one that says so.
    unheard : names of the pieces that are not.
    everything : whether all else that is not as asked is told too.
    """
    answers = [one.answer for one in told]
    played = [_Played(one, play) for one in told if (play := one.answer.best_play) is not None]
    notices = tuple(dict.fromkeys(notice for one in answers for notice in one.notices))
    if played:
        notices = tuple(one for one in notices if one not in (Notice.OTHER_MUSIC, Notice.NO_PITCH))
    lines = [heading_words(title, catalogue), "", *notice_words(notices, answers[0].duration_seconds, catalogue)]
    if not played:
        lines += answer_lines(answers[0], catalogue, everything=everything)
        return "\n".join(lines).rstrip() + "\n"
    lines.append(" ".join(_over_all(played, unheard, catalogue)))
    all_for_tomorrow = all(map(_is_for_tomorrow, played))
    needy = sorted(played, key=lambda one: one.need, reverse=True)
    for number, one in enumerate(played, start=1):
        most = MOST_POINTS if one is needy[0] else POINTS_EACH if one in needy[:MOST_MENDED] else 0
        # what is right is for tomorrow: said once, and only where nothing is to be done today
        with_next = not _is_for_tomorrow(one) or (all_for_tomorrow and number == len(played))
        lines += ["", one.told.heading]
        lines += answer_lines(one.told.answer, catalogue, everything=everything, most=most, with_next=with_next)
    return "\n".join(lines).rstrip() + "\n"

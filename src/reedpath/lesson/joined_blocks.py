"""Joined blocks: what is said where parts are played in one go: from where on, what comes back, how they join."""

from __future__ import annotations

from collections.abc import Iterator

from reedpath.harp import Move
from reedpath.lesson.joining import Join, moves_between
from reedpath.lesson.model import Lesson, Step, StepBlock, StepKind
from reedpath.lesson.sentences import LEAP_HOLES, Speaker
from reedpath.lesson.spoken_parts import NAMED_APART, comes_back, own_name_words, part_words, root_of, run_of_labels
from reedpath.lesson.spoken_route import COUNTED_REST, SAID_REST, SpokenRoute
from reedpath.wording import move_in_sentence

# parts whose order is told one by one; common practice, no source
MOST_IN_ORDER = 8


def _way(speaker: Speaker, before: Move, after: Move, *, in_time: bool) -> str | None:
    """The clause of how far the mouth goes and whether the breath turns; None where there is nothing to say.

    in_time : whether there is no rest in which the breath could turn.
    """
    turns = in_time and before.breath is not after.breath
    way = after.holes[0] - before.holes[0]
    if abs(way) >= LEAP_HOLES:
        side = "up" if way > 0 else "down"
        return speaker.say(f"seam.{side}_turn" if turns else f"seam.{side}", count=abs(way))
    return speaker.say("seam.turn") if turns else None


def _seam_step(lesson: Lesson, spoken: SpokenRoute, part: int, named: str) -> Step:
    """How a part, called so, joins on to the one before: holes and breath, a leap, the time between."""
    first, speaker = lesson.parts[part].first, spoken.speaker
    words = speaker.catalogue
    moves = moves_between(lesson.route.events, first)
    assert moves is not None, "only joins of what is played are told"
    before, after = moves
    if before == after:
        text = speaker.say("seam.same", part=named, place=move_in_sentence(after, words, "the"))
    else:
        ends = {
            "from_before": move_in_sentence(before, words, "from"),
            "to_after": move_in_sentence(after, words, "to"),
        }
        text = speaker.say("seam.into", part=named, **ends)
    rest = spoken.silence(first)
    clauses = [_way(speaker, before, after, in_time=rest < COUNTED_REST)]
    if rest >= SAID_REST:
        clauses.append(speaker.say("seam.rest", beats=spoken.length_words(first, spoken.gap(first))))
    elif spoken.event(first).breathe_before:
        clauses.append(speaker.say("seam.breath"))
    for clause in filter(None, clauses):
        text = speaker.say("clause.link", a=text, b=clause)
    return Step(words.sentence(text), StepKind.SEAM, first - 1, first)


def _order(lesson: Lesson, last: int, speaker: Speaker) -> Iterator[str]:
    """Sentences that place what comes back: the order of all parts up to one, and what comes again at the end."""
    parts = lesson.parts[: last + 1]
    back = [comes_back(lesson, index) for index in range(last + 1)]
    tail = max(index for index in range(last + 1) if not back[index]) + 1
    if any(back[:tail]) and len(parts) <= MOST_IN_ORDER:
        yield speaker.sentence("through.order", parts=speaker.catalogue.join([part.label for part in parts]))
    elif 1 < tail <= last and last == len(lesson.parts) - 1:
        roots = [root_of(lesson, index) for index in range(tail, last + 1)]
        names = [part_words(lesson, root, speaker.catalogue) for root in roots]
        if len(names) > NAMED_APART and roots == list(range(roots[0], roots[0] + len(roots))):
            yield speaker.sentence("through.at_end_run", first=names[0], last=names[-1])
        else:
            last_few = names if len(names) <= NAMED_APART else names[-1:]
            yield speaker.sentence("through.at_end", part=speaker.catalogue.join(list(dict.fromkeys(last_few))))


def through_block(lesson: Lesson, join: Join, spoken: SpokenRoute) -> StepBlock:
    """The block in which parts are played in one go, from the start or from where it last came to."""
    speaker, last = spoken.speaker, join.last
    catalogue = speaker.catalogue
    if last == len(lesson.parts) - 1:
        title, text = catalogue.say("through.heading_whole"), speaker.sentence("through.whole")
    else:
        named = part_words(lesson, last, catalogue)
        if join.first:
            labels = run_of_labels(lesson, join.first, last, catalogue)
            title = catalogue.say("through.heading_section", parts=labels)
            first = part_words(lesson, join.first, catalogue)
            text = speaker.sentence("through.section", first=first, last=named)
        else:
            title = catalogue.say("through.heading", part=lesson.parts[last].label)
            text = speaker.sentence("through.to", part=named)
    if not join.first:
        text = " ".join([text, *_order(lesson, last, speaker)])
    steps = [Step(text, StepKind.THROUGH, lesson.parts[join.first].first, lesson.parts[last].last)]
    for part in join.seams:
        again = comes_back(lesson, part)
        named = own_name_words(lesson, part, catalogue)
        steps.append(_seam_step(lesson, spoken, part, speaker.say("seam.again", part=named) if again else named))
    return StepBlock(title, tuple(steps), tuple(range(join.first, last + 1)))

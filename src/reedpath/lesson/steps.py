"""Steps: what the teacher says of a whole lesson, block by block."""

from __future__ import annotations

from collections import deque
from collections.abc import Container, Iterator, Sequence
from fractions import Fraction

from reedpath.arrange import Route, Spot
from reedpath.harp import Alteration, Move
from reedpath.lesson.event_steps import event_steps
from reedpath.lesson.joined_blocks import through_block
from reedpath.lesson.joining import joins_of
from reedpath.lesson.model import Drill, Lesson, Rung, Step, StepBlock, StepKind
from reedpath.lesson.naming import in_language
from reedpath.lesson.own_words import with_own_words
from reedpath.lesson.pauses import steps_before
from reedpath.lesson.repeats import tokens_of
from reedpath.lesson.sentences import Speaker
from reedpath.lesson.spoken_parts import NAMED_APART, heading_again, heading_of, is_cut, part_words, root_of
from reedpath.lesson.spoken_route import SpokenRoute, length_words
from reedpath.phrase import metre_at, numbered_bars, practice_beat
from reedpath.wording import (
    Catalogue,
    harp_words,
    key_words,
    load_catalogue,
    move_in_sentence,
    named_words,
    position_words,
    shift_words,
    tuning_words,
)

# tellings that are kept, since sheet, page, data and film all tell the same: those of one lesson and of another
KEPT_STEPS = 4
_TOLD: deque[tuple[Lesson, Catalogue, tuple[StepBlock, ...]]] = deque(maxlen=KEPT_STEPS)

# ratios of a swing that need no number: from a light one to a triplet shuffle; common practice, no source
USUAL_SWING = (Fraction(5, 3), Fraction(2))
# parts that the short half of a swung beat is told in at most; our choice
MOST_SHORT = 4


def _intro(lesson: Lesson, speaker: Speaker) -> StepBlock:
    route, catalogue = lesson.route, speaker.catalogue
    harp = harp_words(route.harp, catalogue)
    if route.harp.tuning.name == "standard":
        texts = [speaker.say("intro.harp", harp=harp)]
    else:
        tuning = tuning_words(route.harp.tuning, catalogue)
        texts = [speaker.say("intro.harp_tuned", harp=harp, tuning=tuning)]
    if route.position is not None:
        position = position_words(route.position, catalogue)
        if route.phrase.key is None:
            texts.append(speaker.say("intro.position_only", position=position))
        else:
            key = key_words(route.phrase.key, catalogue)
            texts.append(speaker.say("intro.position", position=position, key=key))
    if route.shift_semitones:
        texts.append(speaker.say("intro.moved", shift=shift_words(route.shift_semitones, catalogue)))
    if len(lesson.parts) > 1:
        texts.append(_count_parts(lesson, speaker))
    texts += _feel(route, speaker)
    steps = tuple(Step(catalogue.sentence(text), StepKind.INTRO) for text in texts)
    return StepBlock(catalogue.say("intro.heading"), steps)


def _feel(route: Route, speaker: Speaker) -> list[str]:
    """What is told once of how time goes: the swing, with its ratio where it is no shuffle's, and a pickup."""
    phrase, texts = route.phrase, list[str]()
    swing = phrase.swing
    if swing > 1:
        if USUAL_SWING[0] <= swing <= USUAL_SWING[1]:
            texts.append(speaker.say("intro.swing"))
        else:
            long, short = swing.limit_denominator(MOST_SHORT).as_integer_ratio()
            texts.append(speaker.say("intro.swing_ratio", long=long, short=short))
    elif swing < 1:
        texts.append(speaker.say("intro.swing_short"))
    if phrase.pickup > 0:
        beats = length_words(phrase.pickup, metre_at(phrase, phrase.pickup), speaker)
        texts.append(speaker.say("intro.pickup", beats=beats))
    return texts


def _count_parts(lesson: Lesson, speaker: Speaker) -> str:
    count, new = len(lesson.parts), sum(part.same_as is None for part in lesson.parts)
    if new == count:
        return speaker.say("intro.parts", count=count)
    return speaker.say("intro.parts_repeated", count=count, new=speaker.say("intro.new_parts", count=new))


def _new_part(lesson: Lesson, index: int, spoken: SpokenRoute) -> StepBlock:
    """The block of a part that is taught: whole, or as another one with another end."""
    speaker, part = spoken.speaker, lesson.parts[index]
    steps: list[Step] = []
    first = part.first
    if part.like is not None:
        like, first = lesson.parts[part.like], part.first + part.shared
        named = part_words(lesson, part.like, speaker.catalogue)
        if is_cut(part):
            text = speaker.sentence("part.like_cut", part=named, count=part.shared)
        elif part.shared > like.last - like.first:
            text = speaker.sentence("part.like_on", part=named)
        else:
            text = speaker.sentence("part.like", part=named)
        steps += steps_before(spoken, part.first, first - 1)
        steps.append(Step(text, StepKind.REPEAT, part.first, first - 1))
    steps += event_steps(spoken, first, part.last, goes_on=first > part.first)
    return StepBlock(heading_of(lesson, index, speaker.catalogue), tuple(steps), (index,))


def _repeat_runs(lesson: Lesson, first: int, last: int, signed: Container[int]) -> Iterator[tuple[int, int]]:
    """Repeated parts from one index to another in runs to be told in one sentence.

    A run is a part played again at once, any number of times, or parts that came in the same order before; none goes
    on over an event of ``signed``, where tempo or metre changes.
    """

    def goes_on(end: int) -> bool:
        return end < last and lesson.parts[end + 1].first not in signed

    index = first
    while index <= last:
        root, end = root_of(lesson, index), index
        if index and root_of(lesson, index - 1) == root:
            while goes_on(end) and root_of(lesson, end + 1) == root:
                end += 1
        else:
            while (
                goes_on(end)
                and root + end + 1 - index < index
                and root_of(lesson, end + 1) == root_of(lesson, root + end + 1 - index)
                and root_of(lesson, end + 1) > root_of(lesson, end)
            ):
                end += 1
        yield index, end
        index = end + 1


def _repeat_text(lesson: Lesson, first: int, last: int, speaker: Speaker) -> str:
    root, catalogue = root_of(lesson, first), speaker.catalogue
    if first and root_of(lesson, first - 1) == root:
        return speaker.sentence("part.same_again", count=last - first + 1)
    names = [part_words(lesson, root + step, catalogue) for step in range(last - first + 1)]
    if len(names) <= NAMED_APART:
        return speaker.sentence("part.again", part=catalogue.join(names))
    return speaker.sentence("part.again_run", first=names[0], last=names[-1])


def _repeated(lesson: Lesson, first: int, last: int, spoken: SpokenRoute) -> StepBlock:
    """The block of parts that were played before."""
    speaker = spoken.speaker
    before = steps_before(spoken, lesson.parts[first].first, lesson.parts[last].last)
    steps = [*before]
    text = _repeat_text(lesson, first, last, speaker)
    steps.append(Step(text, StepKind.REPEAT, lesson.parts[first].first, lesson.parts[last].last))
    title = heading_again(lesson, first, last, speaker.catalogue)
    return StepBlock(title, tuple(steps), tuple(range(first, last + 1)))


def _part_blocks(lesson: Lesson, spoken: SpokenRoute) -> Iterator[StepBlock]:
    joins = {join.last: join for join in joins_of(lesson)}
    index = 0
    while index < len(lesson.parts):
        end = index
        while end < len(lesson.parts) and lesson.parts[end].same_as is not None:
            end += 1
        signed = {sign.event for sign in spoken.signs}
        for first, last in _repeat_runs(lesson, index, end - 1, signed):
            yield _repeated(lesson, first, last, spoken)
        if end < len(lesson.parts):
            yield _new_part(lesson, end, spoken)
        index = end + 1
        if (join := joins.get(min(end, len(lesson.parts) - 1))) is not None:
            yield through_block(lesson, join, spoken)


def _reason(lesson: Lesson, spot: Spot, name: str, catalogue: Catalogue) -> str:
    """Why a spot is hard, by a term's name, in words; what is hard about its moves is named if it can be."""
    if name != "move":
        return named_words("reason", name, catalogue)
    moves = lesson.route.moves(spot.first, spot.last)
    if any(move.alteration.is_overbend for move in moves):
        return catalogue.say("reason.move_overbend")
    if any(move.alteration is Alteration.BEND for move in moves):
        return catalogue.say("reason.move_bend")
    return catalogue.say("reason.move_several" if any(len(move.holes) > 1 for move in moves) else "reason.move")


def _said_reasons(lesson: Lesson, spot: Spot) -> list[str]:
    """The terms that make a spot hard; that an overblow has to speak at once says that there is one."""
    names = list(spot.reasons)
    moves = lesson.route.moves(spot.first, spot.last)
    if "overbend_attack" in names and any(move.alteration.is_overbend for move in moves):
        names = [name for name in names if name != "move"]
    return names


def _bars_words(lesson: Lesson, spot: Spot, catalogue: Catalogue) -> str:
    """The bars that a spot stands in: "bar 3", "bars 3 to 4"."""
    from reedpath.wording import bars_words  # most lessons name no bar in their steps

    phrase = lesson.route.phrase
    # what stands in the pickup is found at the bar after it
    first, last = (max(phrase.pickup, lesson.route.events[index].event.onset) for index in (spot.first, spot.last))
    return bars_words(numbered_bars(phrase).between(first, last), catalogue)


def _spot_ends(lesson: Lesson, spot: Spot) -> tuple[Move | None, Move | None]:
    """The first and the last move of a spot, where anything is played in it."""
    moves = lesson.route.moves(spot.first, spot.last)
    return (moves[0], moves[-1]) if moves else (None, None)


def _spot_steps(lesson: Lesson, drill: Drill, speaker: Speaker) -> Iterator[Step]:
    spot, catalogue = drill.spot, speaker.catalogue
    part = next(index for index, one in enumerate(lesson.parts) if one.first <= spot.first <= one.last)
    reasons = [_reason(lesson, spot, name, catalogue) for name in _said_reasons(lesson, spot)]
    values = {
        "bars": _bars_words(lesson, spot, catalogue),
        "reasons": catalogue.join(reasons) or catalogue.say("reason.any"),
    }
    if len(lesson.parts) > 1:
        values["part"] = part_words(lesson, part, catalogue)
    first, last = _spot_ends(lesson, spot)
    if spot.last > spot.first:
        values["from_first"] = move_in_sentence(first, catalogue, "from")
        values["to_last"] = move_in_sentence(last, catalogue, "to")
    else:
        values["first"] = move_in_sentence(first, catalogue, "the")
    key = "spot.stretch" if spot.last > spot.first else "spot.single"
    where = speaker.sentence(key if "part" in values else f"{key}_whole", **values)
    yield Step(where, StepKind.SPOT, spot.first, spot.last)
    tempos = catalogue.join([_counted_bpm(lesson, rung, spot.first, catalogue) for rung in drill.ladder])
    how = speaker.sentence("spot.practise", count=drill.times, tempos=tempos)
    yield Step(how, StepKind.SPOT, spot.first, spot.last)


def _counted_bpm(lesson: Lesson, rung: Rung, first: int, catalogue: Catalogue) -> str:
    """A rung's tempo in counted beats a minute."""
    onset = lesson.route.events[first].event.onset if lesson.route.events else lesson.route.phrase.pickup * 0
    beat = practice_beat(metre_at(lesson.route.phrase, onset))
    return catalogue.number(round(rung.bpm / float(beat), 1))


def _spots(lesson: Lesson, speaker: Speaker) -> StepBlock:
    steps = [step for drill in lesson.drills for step in _spot_steps(lesson, drill, speaker)]
    if not steps:
        steps = [Step(speaker.sentence("spot.none"), StepKind.SPOT)]
    return StepBlock(speaker.catalogue.say("spot.heading"), tuple(steps))


def _ladder(lesson: Lesson, speaker: Speaker) -> StepBlock:
    keys = [rung.name for rung in lesson.ladder] if len(lesson.ladder) > 1 else ["only"]
    steps = [
        Step(speaker.sentence(f"ladder.{key}", bpm=_counted_bpm(lesson, rung, 0, speaker.catalogue)), StepKind.LADDER)
        for key, rung in zip(keys, lesson.ladder, strict=True)
    ]
    return StepBlock(speaker.catalogue.say("ladder.heading"), tuple(steps))


def steps_of(lesson: Lesson, language: str | Catalogue) -> tuple[StepBlock, ...]:
    """What the teacher says: before playing, part by part, what to practise apart, and the tempos.

    A person's own words stand in place of the program's where they hold (`own_words`).

    language : short name of a shipped language, or a catalogue.
    """
    catalogue = load_catalogue(language) if isinstance(language, str) else language
    return with_own_words(lesson, catalogue.name, program_steps(lesson, catalogue))


def program_steps(lesson: Lesson, catalogue: Catalogue) -> tuple[StepBlock, ...]:
    """What the program says, whatever a person says in its place."""
    for told, words, blocks in tuple(_TOLD):
        if told is lesson and words is catalogue:
            return blocks
    blocks = _blocks_of(lesson, catalogue)
    _TOLD.append((lesson, catalogue, blocks))
    return blocks


def _blocks_of(lesson: Lesson, catalogue: Catalogue) -> tuple[StepBlock, ...]:
    lesson = in_language(lesson, catalogue.name)
    speaker = Speaker(catalogue)
    if not lesson.parts:
        step = Step(speaker.sentence("part.empty"), StepKind.INTRO)
        return (StepBlock(catalogue.say("intro.heading"), (step,)),)
    spoken = SpokenRoute(lesson.route, tokens_of(lesson.route.events), speaker)
    blocks: Sequence[StepBlock] = (
        _intro(lesson, speaker),
        *_part_blocks(lesson, spoken),
        _spots(lesson, speaker),
        _ladder(lesson, speaker),
    )
    return tuple(blocks)

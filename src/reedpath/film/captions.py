"""Captions and chapters: what they say and when, in any language, and their text as WebVTT and SRT; headings too.

WebVTT is the W3C's ("WebVTT: The Web Video Text Tracks Format"). SRT has no standard; it is written as it commonly
is: a number, the times with a comma, the lines, an empty line.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from reedpath.film.timeline import Caption, RoundSpan, Scene, SceneHeading, SceneKind, SpotTime, Timeline, TurnCall
from reedpath.harp import Move, format_move, load_notation
from reedpath.lesson import Lesson, StepBlock, StepKind, by_line, part_words, steps_of
from reedpath.page import event_words, facts_of, title_words
from reedpath.wording import Catalogue
from reedpath.wording import tempo_words as metronome_words

# share by which a take may be off a tempo of the lesson and is told to have it: nobody hits one more exactly; ours
AS_GOOD_AS = 0.03
# plain spaces, everything that breaks a line, and signs that control something
_BREAKS = re.compile(r"[\x00-\x20\x7f-\x9f\u2028\u2029]+")


def split_words(text: str) -> list[str]:
    r"""
    The pieces of a text between which a line may be broken.

    >>> split_words(" Pas à pas\u202f: slow\n")
    ['Pas', 'à', 'pas\u202f:', 'slow']
    """
    return [word for word in _BREAKS.split(text) if word]


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def about_words(lesson: Lesson, heading: SceneHeading | None, blocks: tuple[StepBlock, ...], words: Catalogue) -> str:
    """What a stretch is about; the lesson's title before the parts."""
    if heading is not None and heading.part is not None:
        part = lesson.parts[heading.part]
        root = heading.part if part.same_as is None else part.same_as
        own = [block.title for wanted in (heading.part, root) for block in blocks if block.parts == (wanted,)]
        return own[0] if own else _capital(part_words(lesson, heading.part, words))
    if heading is not None and heading.block:
        return blocks[heading.block].title
    return lesson.title


def tempo_words(scene: Scene, words: Catalogue) -> str:
    """The tempo of a scene: "slow · ♩ = 50"; of a take that is as good as at one of the lesson, that one."""
    bpm = scene.bpm
    if scene.kind is SceneKind.TAKE and scene.rung is not None and abs(bpm / scene.rung.bpm - 1.0) <= AS_GOOD_AS:
        bpm = scene.rung.bpm
    tempo = metronome_words(bpm, scene.metre, words, decimals=0 if scene.kind is SceneKind.TAKE else 1)
    if scene.rung is None:
        return tempo
    return f"{words.say(f'rung.{scene.rung.name}')} · {tempo}" if words.has(f"rung.{scene.rung.name}") else tempo


def scene_words(scene: Scene, words: Catalogue) -> str:
    """What a scene is: gone through step by step, or its tempo."""
    return words.say("sheet.steps") if scene.kind is SceneKind.STEPS else tempo_words(scene, words)


def round_words(one: RoundSpan | None, words: Catalogue) -> str:
    """A band's round: "round 2 of 3 · your turn"."""
    if one is None:
        return ""
    text = words.say("film.round", number=one.number, count=one.count)
    if one.bar:
        text = words.say("film.round_bar", round=text, bar=one.bar)
    return f"{text} · {words.say('sound.your_turn')}" if one.is_yours else text


def turn_call_words(call: TurnCall | None, seconds: float, words: Catalogue) -> str:
    """What is said, large, of the student's turn at a moment."""
    if call is None:
        return ""
    return words.say("film.turn_coming") if seconds < call.turn_seconds else _capital(words.say("sound.your_turn"))


def spot_time_words(one: SpotTime | None, scene: Scene, words: Catalogue) -> str:
    """Which time a spot is played: "♩ = 50 · 2 of 5"."""
    if one is None:
        return ""
    tempo = metronome_words(one.bpm, scene.metre, words, decimals=1)
    return f"{tempo} · {words.say('film.time_of', number=one.number, count=one.count)}"


def _whole_sentence(lesson: Lesson, block: StepBlock, text: str, words: Catalogue) -> str:
    """What is said of a part that begins as another one, where the end that differs is not told after it.

    A person's own words stay as they are.
    """
    part = lesson.parts[block.parts[0]]
    if part.like is None or not text.endswith(":") or any(own.text == text for own in lesson.own_words):
        return text
    like = lesson.parts[part.like]
    key = "part.like_on_whole" if part.shared > like.last - like.first else "part.like_whole"
    return words.sentence(words.say(key, part=part_words(lesson, part.like, words)))


def caption_text(lesson: Lesson, caption: Caption, blocks: tuple[StepBlock, ...], words: Catalogue) -> str:
    """The text of a caption."""
    block, said = blocks[caption.block], list[str]()
    for step in block.steps[caption.first : caption.stop]:
        in_passing = caption.in_passing and step.kind is StepKind.REPEAT
        said.append(_whole_sentence(lesson, block, step.text, words) if in_passing else step.text)
    return " ".join(text for text in said if text)


# seconds; a cue shorter than this cannot be seen, and is left to the one before
LEAST_SECONDS = 0.02
# seconds before the first scene that are worth a chapter; our choice
LEAST_OPENING_SECONDS = 0.5


@dataclass(frozen=True, slots=True)
class Cue:
    """Some lines of text, shown from one moment to another.

    start_seconds, end_seconds : film time.
    lines : at least one, none empty.
    """

    start_seconds: float
    end_seconds: float
    lines: tuple[str, ...]


def broken_lines(text: str, most: int) -> tuple[str, ...]:
    """A text in two lines of about one length where it is too long for one, in more where it must be.

    most : characters of a line, but for a word that is longer.

    >>> broken_lines("Begin on 4 draw, start it bent a half step, then let it go.", 37)
    ('Begin on 4 draw, start it bent', 'a half step, then let it go.')
    """
    words = split_words(text)
    count = max(1, -(-len(" ".join(words)) // most))
    width = -(-len(" ".join(words)) // count)
    while True:
        lines: list[str] = []
        for word in words:
            if lines and len(lines[-1]) + 1 + len(word) <= width:
                lines[-1] += f" {word}"
            else:
                lines.append(word)
        if len(lines) <= count or width >= most:
            return tuple(lines)
        width += 1


def _tab_line(move: Move, words_of_move: str, notation: str) -> str:
    return f"{format_move(move, load_notation(notation))} · {words_of_move}"


def _scene_cues(lesson: Lesson, scene: Scene, words: Catalogue) -> Iterator[Cue]:
    """Cues without overlap: what sounds in the first line, steps under it; over both, whose turn comes."""
    blocks = steps_of(lesson, words)
    edges = {scene.start_seconds, scene.end_seconds}
    edges |= {edge for one in scene.highlights for edge in (one.start_seconds, one.end_seconds)}
    edges |= {edge for one in scene.captions for edge in (one.start_seconds, one.end_seconds)}
    calls = scene.turn_calls
    edges |= {edge for one in calls for edge in (one.start_seconds, one.turn_seconds, one.end_seconds)}
    for start, end in pairwise(sorted(edges)):
        middle = (start + end) / 2
        sounding, caption = scene.highlight_at(middle), scene.caption_at(middle)
        lines = [turn] if (turn := turn_call_words(scene.turn_call_at(middle), middle, words)) else []
        if sounding is not None:
            one = lesson.route.events[sounding.event]
            if one.choice.move is not None:
                lines.append(_tab_line(one.choice.move, event_words(one, words), lesson.notation))
        if caption is not None:
            most = words.grammar.captions.line
            said = caption_text(lesson, caption, blocks, words)
            lines += broken_lines(said, most) if said else []
        if lines:
            yield Cue(start, end, tuple(lines))


def _joined(cues: Sequence[Cue]) -> Iterator[Cue]:
    """Cues that follow on with one text made one, and those too short to be seen given to their neighbour."""
    held: Cue | None = None
    for cue in cues:
        if held is None:
            held = cue
            continue
        follows = cue.lines == held.lines and cue.start_seconds - held.end_seconds < 1e-6
        if follows or cue.end_seconds - cue.start_seconds < LEAST_SECONDS:
            held = Cue(held.start_seconds, cue.end_seconds, held.lines)
        else:
            yield held
            held = cue
    if held is not None:
        yield held


def title_lines(lesson: Lesson, words: Catalogue) -> list[str]:
    """What the title says: the title, who made the lesson, and what a player must know first."""
    facts = (fact["value"] for fact in facts_of(lesson.route, words))
    return [title_words(lesson, words), *filter(None, [by_line(lesson)]), *facts]


def caption_cues(lesson: Lesson, timeline: Timeline, words: Catalogue) -> tuple[Cue, ...]:
    """The captions in a language: the title where it has a card, the tab of every note with its words, and the steps
    under it.

    In order of time and without overlap, so that every format and player can show them.
    """
    cues = [cue for scene in timeline.scenes for cue in _scene_cues(lesson, scene, words)]
    if timeline.title_seconds:
        title, *facts = title_lines(lesson, words)
        most = words.grammar.captions.line
        lines = (*broken_lines(title, most), *broken_lines(", ".join(facts), most))
        cues.insert(0, Cue(0.0, timeline.title_seconds, lines))
    return tuple(_joined(cues))


def chapter_begins(lesson: Lesson, scenes: Iterable[Scene], words: Catalogue) -> list[tuple[float, str]]:
    """When the chapters of scenes begin, and what they are called: one for each part of each scene.

    Where a band plays there is one for each round. What is said before a scene belongs to its first chapter.
    """
    blocks = steps_of(lesson, words)
    begins: list[tuple[float, str]] = []
    for scene in scenes:
        tempo = scene_words(scene, words)
        for one in scene.rounds:
            about = round_words(one, words)
            begins.append((one.start_seconds, words.say("film.chapter", about=about, tempo=tempo)))
        if not scene.headings:
            begins.append((scene.chapter_seconds, tempo))
        for place, heading in enumerate(scene.headings if not scene.rounds else ()):
            about = about_words(lesson, heading, blocks, words)
            said = scene.told_from if place == 0 else None
            begins.append(
                (heading.start_seconds if said is None else said, words.say("film.chapter", about=about, tempo=tempo))
            )
    return begins


def chapters_from(begins: Sequence[tuple[float, str]], seconds: float) -> tuple[Cue, ...]:
    """Chapters by when they begin, each up to the next one's start, the last up to the film's end."""
    ends = [start for start, _ in begins[1:]] + [seconds]
    spans = zip(begins, ends, strict=False)  # without any there is one end too many
    return tuple(Cue(start, end, (title,)) for (start, title), end in spans if end > start)


def chapter_cues(lesson: Lesson, timeline: Timeline, words: Catalogue) -> tuple[Cue, ...]:
    """The chapters in a language, each up to the next one's start (see `chapter_begins`).

    What comes before the first scene is a chapter of the lesson's title; a card with it belongs to the first chapter.
    """
    begins = chapter_begins(lesson, timeline.scenes, words)
    if timeline.title_seconds:
        begins[0] = (0.0, begins[0][1])
    elif timeline.scenes and timeline.scenes[0].chapter_seconds > LEAST_OPENING_SECONDS:
        begins.insert(0, (0.0, lesson.title))
    return chapters_from(begins, timeline.seconds)


# what WebVTT keeps for itself (section 4.2.2), and what stands for it
_KEPT = {"&": "&amp;", "<": "&lt;", ">": "&gt;"}


def _clock(seconds: float, mark: str) -> str:
    """A moment as hours, minutes, seconds and thousandths.

    >>> _clock(3723.5, ".")
    '01:02:03.500'
    """
    thousandths = max(0, round(seconds * 1000))
    whole, rest = divmod(thousandths, 1000)
    return f"{whole // 3600:02d}:{whole // 60 % 60:02d}:{whole % 60:02d}{mark}{rest:03d}"


def _apart(cues: Iterable[Cue]) -> Iterable[tuple[int, int, Cue]]:
    """The cues in order with their thousandths: each at least one long, and none over the one before."""
    until = 0
    for cue in sorted((cue for cue in cues if _lines(cue)), key=lambda cue: cue.start_seconds):
        start = max(until, round(cue.start_seconds * 1000))
        until = max(start + 1, round(cue.end_seconds * 1000))
        yield start, until, cue


def _lines(cue: Cue) -> list[str]:
    """The lines of a cue without line breaks in them and without empty ones, for an empty line ends a cue."""
    return [text for text in (" ".join(split_words(line)) for line in cue.lines) if text]


def _escaped(text: str) -> str:
    return "".join(_KEPT.get(letter, letter) for letter in text)


def format_webvtt(cues: Iterable[Cue], *, title: str = "", language: str = "") -> str:
    """Cues as a WebVTT file's text, for captions and for chapters alike.

    title, language : said in a note at the head, for those who open the file.

    >>> print(format_webvtt([Cue(0.0, 1.5, ("2 < 3",))]), end="")
    WEBVTT
    <BLANKLINE>
    1
    00:00:00.000 --> 00:00:01.500
    2 &lt; 3
    """
    about = ", ".join(part for part in (title, language) if part).replace("-->", "->")
    blocks = ["WEBVTT"] + ([f"NOTE {' '.join(split_words(about))}"] if about else [])
    for number, (start, end, cue) in enumerate(_apart(cues), start=1):
        lines = "\n".join(_escaped(line) for line in _lines(cue))
        blocks.append(f"{number}\n{_clock(start / 1000, '.')} --> {_clock(end / 1000, '.')}\n{lines}")
    return "\n\n".join(blocks) + "\n"


def format_srt(cues: Iterable[Cue]) -> str:
    """Cues as an SRT file's text.

    >>> print(format_srt([Cue(61.0, 62.25, ("-4", "Let it go."))]), end="")
    1
    00:01:01,000 --> 00:01:02,250
    -4
    Let it go.
    """
    blocks = []
    for number, (start, end, cue) in enumerate(_apart(cues), start=1):
        lines = "\n".join(_lines(cue))
        blocks.append(f"{number}\n{_clock(start / 1000, ',')} --> {_clock(end / 1000, ',')}\n{lines}")
    return "\n\n".join(blocks) + "\n" if blocks else ""

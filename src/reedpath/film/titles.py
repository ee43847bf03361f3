"""Titles: what scenes, parts and moves are called on the screen, in captions and in chapters."""

from __future__ import annotations

from reedpath.film.timeline import Heading, RoundSpan, Saying, Scene, SceneKind
from reedpath.lesson import Lesson, StepBlock, part_words
from reedpath.wording import Catalogue

__all__ = ["about_words", "round_words", "said_words", "scene_words", "tempo_words"]


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def about_words(lesson: Lesson, heading: Heading | None, blocks: tuple[StepBlock, ...], words: Catalogue) -> str:
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
    """The tempo of a scene: "slow · ♩ = 50"."""
    bpm = round(scene.bpm) if scene.kind is SceneKind.TAKE else round(scene.bpm, 1)
    tempo = words.say("tempo.quarter", bpm=words.number(bpm))
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
    return f"{text} · {words.say('sound.your_turn')}" if one.is_yours else text


def said_words(saying: Saying, blocks: tuple[StepBlock, ...]) -> str:
    """The text of a caption."""
    return " ".join(step.text for step in blocks[saying.block].steps[saying.first : saying.stop])

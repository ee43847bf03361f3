"""Laying a film out: its timeline, from a lesson alone or from a film with its play-throughs."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from reedpath.errors import FilmError
from reedpath.film.caption_groups import CaptionGroup, caption_groups_of, card_seconds
from reedpath.film.captions import title_lines
from reedpath.film.cut_plays import ToldPlay
from reedpath.film.scene_band import band_scene
from reedpath.film.scene_play import heard_events, play_scene, take_scene
from reedpath.film.scene_steps import steps_scene
from reedpath.film.timeline import Highlight, Scene, Timeline
from reedpath.lesson import Lesson, Rung
from reedpath.sound import Backing, PlayAlong
from reedpath.wording import load_catalogue

if TYPE_CHECKING:
    from reedpath.listen import PlayThrough


def lay_out_film(
    lesson: Lesson,
    *,
    rungs: Sequence[Rung] | None = None,
    with_steps: bool = True,
    with_title: bool = False,
    play: PlayAlong | None = None,
    start_seconds: float = 0.0,
) -> Timeline:
    """The film of a lesson alone: the phrase step by step, then played at each tempo.

    rungs : the tempos; the whole ladder when left out.
    with_steps : whether to go through it step by step first.
    with_title : whether a card with the title and what a player must know first stands before it.
    play : how it is counted in and played at each tempo; a backing for a band to play under it.
    start_seconds : when it begins, where something else comes before it.

    Raises `FilmError` for a lesson in which there is nothing to play, or no tempo to play it at. Raises `SoundError`
    or `SettingsError` for a band that cannot play this; see `reedpath.sound.lay_out_backing`.
    """
    chosen = lesson.ladder if rungs is None else tuple(rungs)
    if not lesson.route.events:
        raise FilmError("film.nothing_to_film")
    if not chosen:
        raise FilmError("film.no_tempo")
    groups = caption_groups_of(lesson)
    scenes: list[Scene] = []
    title = _title_seconds(lesson) if with_title else 0.0
    start_seconds += title
    if with_steps:
        scenes.append(steps_scene(lesson, chosen[0], groups, start_seconds=start_seconds))
    for rung in chosen:
        start = scenes[-1].end_seconds if scenes else start_seconds
        scenes.append(scene_at_rung(lesson, rung, groups, start_seconds=start, play=play))
    return Timeline(tuple(scenes), scenes[-1].end_seconds, title)


def _title_seconds(lesson: Lesson) -> float:
    """How long the slowest language of a lesson needs to read its title."""
    spoken = [load_catalogue(language) for language in lesson.languages]
    return card_seconds((" ".join(title_lines(lesson, words)), words.grammar.captions) for words in spoken)


def scene_at_rung(
    lesson: Lesson, rung: Rung, groups: Sequence[CaptionGroup], *, start_seconds: float, play: PlayAlong | None
) -> Scene:
    """The phrase at a tempo, with a band where one is asked for."""
    if isinstance(play, Backing):
        return band_scene(lesson, rung, groups, start_seconds=start_seconds, backing=play)
    return play_scene(lesson, rung, groups, start_seconds=start_seconds, options=play)


def _check_play(heard: Sequence[Highlight], count: int, film_seconds: float) -> None:
    """Raise FilmError for what cannot be a play-through of a lesson of so many events in a film of that length."""
    for before, after in pairwise(heard):
        if after.event <= before.event:
            raise FilmError(
                "film.play_goes_back",
                event=before.event,
                seconds=before.start_seconds,
                next_event=after.event,
                next_seconds=after.start_seconds,
            )
    if heard[-1].event >= count or heard[0].event < 0:
        raise FilmError("film.no_such_event", event=heard[-1].event, count=count)
    end = max(one.end_seconds for one in heard)
    if end > film_seconds + 1.0:
        raise FilmError("film.play_outside", end=end, seconds=film_seconds)


def lay_out_takes(
    lesson: Lesson, plays: Sequence[PlayThrough], *, film_seconds: float, told: Sequence[ToldPlay] = ()
) -> Timeline:
    """The teacher's film: one scene for each play-through in which something was heard.

    told : of a film that was cut, from when on each stretch that is played is spoken of.

    Raises `FilmError` for play-throughs that overlap, lie outside the film, or play what the lesson has not; none at
    all.
    """
    heard = sorted(
        ((events, play) for play in plays if (events := heard_events(play))), key=lambda one: one[0][0].start_seconds
    )
    if not heard:
        raise FilmError("film.no_play_through")
    groups = caption_groups_of(lesson)
    scenes: list[Scene] = []
    for place, (events, play) in enumerate(heard):
        _check_play(events, len(lesson.route.events), film_seconds)
        end = max(one.end_seconds for one in events)
        earliest, latest = scenes[-1].end_seconds if scenes else 0.0, film_seconds
        if place + 1 < len(heard):
            following = heard[place + 1][0][0].start_seconds
            if following < end:
                raise FilmError("film.two_plays", seconds=following)
            latest = (end + following) / 2  # what lies between two is shared half and half where it is short
        first = events[0].start_seconds
        stretch = next((one for one in told if one.start_seconds <= first < one.end_seconds), None)
        scenes.append(take_scene(lesson, play, groups, earliest=earliest, latest=latest, stretch=stretch))
    return Timeline(tuple(scenes), film_seconds)

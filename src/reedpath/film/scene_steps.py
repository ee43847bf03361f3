"""The scene that goes through a phrase step by step.

Each step is read while the ribbon waits at its note; then the note is played, slowly, and the ribbon moves on. A spot
that is to be practised apart is played as often in a row as is said, at the slowest of its own tempos, as the sounds
to practise with loop it: counted in, with the click under it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from reedpath.arrange import Spot
from reedpath.film.caption_groups import CaptionGroup
from reedpath.film.scene_play import highlights_of
from reedpath.film.timeline import Caption, Glide, Highlight, Scene, SceneHeading, SceneKind, SpotTime
from reedpath.lesson import Drill, Lesson, Rung, StepKind, drill_route
from reedpath.phrase import Timing, metre_at, timing_of
from reedpath.sound import MOST_TIMES, Click, Loop, Plan, PlayAlongLayout, Tone, lay_out_spot, plan_route

# seconds that the ribbon takes to the next note, and that pass from a new caption to the note; our choice
GLIDE_SECONDS, LEAD_SECONDS = 0.5, 1.0
# seconds of quiet after a note before the next caption, and at the scene's end; our choice
AFTER_SECONDS, END_SECONDS = 0.4, 0.8
# seconds, at the slow tempo, of the longest stretch played to join parts; of longer ones only the joins; our choice
LONGEST_THROUGH_SECONDS = 45.0


@dataclass(slots=True)
class _StepByStep:
    """The scene while it is laid out, on the film's clock.

    at : the moment reached.
    ribbon : the ribbon's seconds reached.
    """

    lesson: Lesson
    rung: Rung
    timing: Timing
    at: float
    ribbon: float = 0.0
    glide: list[tuple[float, float]] = field(default_factory=list)
    played: list[Highlight] = field(default_factory=list)
    coming: list[Highlight] = field(default_factory=list)
    spot_times: list[SpotTime] = field(default_factory=list)
    tones: list[Tone] = field(default_factory=list)
    clicks: list[Click] = field(default_factory=list)
    captions: list[Caption] = field(default_factory=list)

    def ribbon_to(self, event: int, *, start: float, until: float, end: bool = False) -> None:
        """Let the ribbon glide to an event's onset or end."""
        one = self.lesson.route.events[event].event
        self.glide += [(start, self.ribbon), (until, self.timing.seconds_at(one.end if end else one.onset))]
        self.ribbon = self.glide[-1][1]

    def tell(self, group: CaptionGroup) -> None:
        """Show the pages of a group one after the other."""
        at = self.at
        for page in group.pages:
            self.captions.append(Caption(group.block, page.first, page.stop, at, at + page.seconds))
            at += page.seconds

    def await_event(self, event: int, start: float, until: float) -> None:
        """Show an event as the one that comes, where it is one to be played."""
        if self.lesson.route.events[event].choice.move is not None:
            self.coming.append(Highlight(event, start, until))

    def play(self, first: int, last: int, start: float) -> float:
        """Play some events from a moment on; when they end."""
        stretch = drill_route(self.lesson.route, Spot(first, last, 0.0, ()))
        plan = plan_route(stretch, timing_of(stretch.phrase).scaled(self.rung.factor))
        plan = plan.delayed(start - plan.spans[0].start_seconds)
        self.tones += [replace(tone, event=tone.event + first) for tone in plan.tones]
        self.played += [
            Highlight(index, span.start_seconds, span.end_seconds) for index, span in enumerate(plan.spans, first)
        ]
        self.ribbon_to(last, start=start, until=plan.seconds, end=True)
        return plan.seconds

    def practise(self, drill: Drill, start: float) -> float:
        """Play a spot as often as its drill says, from a moment on, at which it is counted in; when it ends."""
        first, last = drill.spot.first, drill.spot.last
        rung = drill.ladder[0] if drill.ladder else self.rung
        loop = lay_out_spot(self.lesson, first, last, rung, Loop(times=min(drill.times, MOST_TIMES)))
        self.tones += [replace(tone.delayed(start), event=tone.event + first) for tone in loop.tones]
        begins = [start + spans[0].start_seconds for spans in loop.spans]
        ends = [start + max(span.end_seconds for span in spans) for spans in loop.spans]
        back = [max(end, begin - GLIDE_SECONDS) for end, begin in zip(ends, begins[1:], strict=False)]
        self.await_event(first, start, begins[0])
        for number, spans in enumerate(loop.spans):
            self.played += [
                Highlight(index, start + span.start_seconds, start + span.end_seconds)
                for index, span in enumerate(spans, first)
            ]
            self.ribbon_to(last, start=begins[number], until=ends[number], end=True)
            until = ends[-1]
            if number < len(back):
                until = begins[number + 1]
                self.ribbon_to(first, start=back[number], until=until)
                self.await_event(first, back[number], until)
            began = begins[number] if number else start
            self.spot_times.append(SpotTime(number + 1, len(begins), rung.bpm, began, until))
        self.clicks += [
            Click(start + one.seconds, one.first) for one in loop.clicks if start + one.seconds < ends[-1]
        ]
        return ends[-1]

    def is_played_through(self, first: int, last: int) -> bool:
        """Whether joined parts are played in one go: not all of them, which later scenes play, nor too much."""
        events, at = self.lesson.route.events, self.timing.seconds_at
        seconds = at(events[last].event.end) - at(events[first].event.onset)
        return last < len(events) - 1 and seconds <= LONGEST_THROUGH_SECONDS

    def step(self, group: CaptionGroup) -> None:
        """One group of steps: told, and played where it is about notes to be played."""
        start, read_until = self.at, self.at + group.seconds
        self.tell(group)
        self.at = read_until
        if group.first is None or group.last is None:
            return
        if not group.is_played:
            if group.kind is StepKind.REPEAT:
                self.ribbon_to(group.last, start=start, until=read_until, end=True)
            return
        self.ribbon_to(group.first, start=start, until=start + GLIDE_SECONDS)
        if group.kind is StepKind.THROUGH and not self.is_played_through(group.first, group.last):
            return
        drill = _drill_of(self.lesson, group)
        if drill is not None:
            end = self.practise(drill, start)
        else:
            begins = start + sum(page.seconds for page in group.pages[: group.played_page]) + LEAD_SECONDS
            self.await_event(group.first, start, begins)
            end = self.play(group.first, group.last, begins)
        self.at = max(read_until, end + AFTER_SECONDS)
        self.captions[-1] = replace(self.captions[-1], end_seconds=self.at)


def _drill_of(lesson: Lesson, group: CaptionGroup) -> Drill | None:
    """The drill that a group is about."""
    if group.kind is not StepKind.SPOT:
        return None
    return next((one for one in lesson.drills if (one.spot.first, one.spot.last) == (group.first, group.last)), None)


def _shown(groups: Iterable[CaptionGroup]) -> Iterator[CaptionGroup]:
    """What is gone through: all but the tempos, and the spots only where there are some."""
    for group in groups:
        if group.kind is not StepKind.LADDER and (group.kind is not StepKind.SPOT or group.first is not None):
            yield group


def _headings(groups: Sequence[CaptionGroup], starts: Sequence[float], end: float) -> tuple[SceneHeading, ...]:
    """One heading for each block of steps; ``starts`` are when the groups begin."""
    headings: list[SceneHeading] = []
    for group, start, until in zip(groups, starts, [*starts[1:], end], strict=True):
        if headings and headings[-1].block == group.block:
            headings[-1] = replace(headings[-1], end_seconds=until)
        else:
            headings.append(SceneHeading(start, until, block=group.block))
    return tuple(headings)


def steps_scene(lesson: Lesson, rung: Rung, groups: Iterable[CaptionGroup], *, start_seconds: float) -> Scene:
    """The scene from that moment on, each note as long as at that rung."""
    timing = timing_of(lesson.route.phrase).scaled(rung.factor)
    walk = _StepByStep(lesson, rung, timing, start_seconds)
    shown = list(_shown(groups))
    starts = []
    for group in shown:
        starts.append(walk.at)
        walk.step(group)
    end = walk.at + END_SECONDS
    tones = sorted(walk.tones, key=lambda tone: tone.start_seconds)
    return Scene(
        kind=SceneKind.STEPS,
        start_seconds=start_seconds,
        end_seconds=end,
        bpm=rung.bpm,
        metre=metre_at(lesson.route.phrase, lesson.route.phrase.pickup),
        rung=rung,
        highlights=highlights_of(lesson.route, walk.played),
        headings=_headings(shown, starts, end),
        captions=tuple(walk.captions),
        counts=(),
        beat_times=timing,
        glide=Glide.through([(start_seconds, 0.0), *walk.glide, (end, walk.ribbon)]),
        layout=PlayAlongLayout(
            Plan(tuple(tones), ()).delayed(-start_seconds),
            tuple(Click(click.seconds - start_seconds, click.first) for click in walk.clicks),
            0.0,
            end - start_seconds,
        ),
        coming=tuple(walk.coming),
        spot_times=tuple(walk.spot_times),
    )

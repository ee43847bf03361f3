"""The conversation: a workbench takes commands one after the other, and shows what comes of each.

What a person sees moves at once: the best route that keeps her words is shown first, with ribbon, tab and staff of
that same route. What takes longer (figures fingered alike, the survey, what every level and technique would cost, the
trade-off) is found out step by step while nobody says anything, and dropped when somebody does.
"""

from __future__ import annotations

import gc
from collections.abc import Iterator, Sequence
from contextlib import suppress
from typing import Any

from msgspec import UNSET
from msgspec.structs import asdict, replace

from reedpath.arrange import Route
from reedpath.errors import ReedpathError, SettingsError
from reedpath.jobs.conversations import Channel
from reedpath.jobs.workbench.bringing import corrected, later_errors, read_again
from reedpath.jobs.workbench.commands import (
    BringPhrase,
    Choose,
    Command,
    CorrectNote,
    GiveLesson,
    LookAt,
    MarkPart,
    NamePart,
    NoteKept,
    PinMove,
    RedoStep,
    ShowAgain,
    TypeSource,
    UndoStep,
    Unpin,
    read_command,
)
from reedpath.jobs.workbench.draft import Draft, MarkedPart, MovePin, WorkbenchPast, encode_draft
from reedpath.jobs.workbench.messages import (
    DraftKept,
    LessonGiven,
    Price,
    PricesShown,
    ProblemShown,
    WaysShown,
    WorkbenchMessage,
    WorkbenchView,
    WorkRested,
    WrittenShown,
    encode_message,
)
from reedpath.jobs.workbench.prices import (
    KnownSurvey,
    level_prices,
    survey_shown,
    surveyed,
    technique_prices,
    trade_off_routes,
    trade_off_shown,
)
from reedpath.jobs.workbench.settling import HarpOwned, SettledDraft, fingered_alike, settle_draft
from reedpath.jobs.workbench.showing import (
    ShownNotes,
    choice_shown,
    facts_shown,
    notes_shown,
    parts_shown,
    problem_shown,
    ribbon_shown,
    staff_of,
    ways_shown,
)
from reedpath.lesson import encode_lesson, make_lesson
from reedpath.page import DrawnRibbon, draw_ribbon, format_tab
from reedpath.phrase import performed
from reedpath.shelf import DraftChange
from reedpath.wording import left_out_blocks, load_catalogue

# events up to which everything is found out unasked; what is longer is settled and shown all the same. Ours
MOST_FOUND_OUT = 2_000
# characters that are typed, or taken away, in one step of undoing; about three bars of tab. Ours
MOST_TYPED = 40
# seconds without a command after which what takes longer is begun: who goes from note to note is not held up. Ours
QUIET_SECONDS = 0.3
# the same after a note is looked at: about as long as it takes to choose among its ways, so that the choice is not
# held up. Ours
CHOOSING_SECONDS = 2.0
# names in `Choose` that are of the player, and those that are of the draft
OF_PLAYER = ("level", "draw_bends", "blow_bends", "overblows", "overdraws", "splits", "chords")
OF_DRAFT = ("owned_only", "position", "shift_semitones", "any_key", "key", "bpm", "notation", "title", "band")


class Workbench:
    """A phrase on the workbench; not a value, since it is talked with.

    past : the draft and what can be undone. number : of the state, counted up with every command that changes it.
    """

    def __init__(
        self,
        past: WorkbenchPast | None = None,
        *,
        owned: Sequence[HarpOwned] = (),
        language: str = "en",
        notes: str = "",
        layout: str = "sheet",
    ) -> None:
        self.past = past or WorkbenchPast(Draft())
        self.number = 0
        self._owned, self._layout = tuple(owned), layout
        self._words = load_catalogue(language, notes=notes or None)
        self._problem: tuple[ReedpathError, str] | None = None
        self._now: tuple[Draft, SettledDraft] | None = None
        self._ribbon: DrawnRibbon | None = None
        self._notes: ShownNotes | None = None
        self._staff: tuple[Route, str] | None = None
        self._survey: KnownSurvey | None = None
        self._looking: int | None = None
        self._typed_from: str | None = None
        self._changed: frozenset[int] = frozenset()
        self._effort_before: float | None = None
        self._gone = 0
        try:
            self._settle(self.draft)
            self._read_problem(self.draft)
        except ReedpathError as error:  # a tuning of one's own that is gone, say
            self._problem = (error, "choice")

    @property
    def draft(self) -> Draft:
        """The draft as it stands."""
        return self.past.draft

    # ------------------------------------------------------------------------------------------------- commands

    def answer(self, command: Command) -> Iterator[WorkbenchMessage]:
        """What is told at once of a command."""
        if isinstance(command, ShowAgain):
            self._layout = command.layout or self._layout
            if command.language:
                self._words = load_catalogue(command.language, notes=command.notes or None)
            self._ribbon = self._staff = self._notes = None
            yield from self._ways()
            yield self._view(command.id)
            return
        elif isinstance(command, LookAt):
            self._looking = command.event
            yield from self._ways()
            return
        elif isinstance(command, GiveLesson):
            yield self._lesson(command)
            return
        else:
            yield from self._do(command)
        yield self._view(command.id)
        yield from self._ways()

    def _do(self, command: Command) -> Iterator[WorkbenchMessage]:
        """Carry out a command that changes the draft; one that can't be leaves it as it was, and says why."""
        how: DraftChange = "step"
        before = self.draft
        self._problem, self._gone = None, 0
        goes_on = isinstance(command, TypeSource) and _goes_on(self._typed_from, command.text)
        if not goes_on:
            self._typed_from = command.text if isinstance(command, TypeSource) else None
        try:
            if isinstance(command, UndoStep | RedoStep):
                how = "undo" if isinstance(command, UndoStep) else "redo"
                past = self.past.undone() if how == "undo" else self.past.redone()
                self._settle(past.draft)
                self._read_problem(past.draft)
            else:
                draft = self._with(command)
                in_place = goes_on or isinstance(command, NoteKept)
                how = "same" if in_place else "step"
                self._settle(draft)
                past = self.past.changed(draft, in_place=in_place)
        except ReedpathError as error:
            self._problem = (error, "choice")
            return
        if past.draft != before:
            self.past = past
            self.number += 1
            yield self._kept(how)

    def _kept(self, how: DraftChange) -> DraftKept:
        draft = self.draft
        title = draft.title or (draft.phrase.title if draft.phrase else "") or draft.name
        sound = draft.recording.sound if draft.recording else ""
        return DraftKept(number=self.number, draft=encode_draft(draft), title=title[:200], sound=sound, how=how)

    def _with(self, command: Command) -> Draft:
        """The draft as a command would have it."""
        draft = self.draft
        match command:
            case TypeSource():
                return self._read(replace(draft, text=command.text, format=command.format, base=None, recording=None))
            case BringPhrase():
                base = None if command.phrase is None else performed(command.phrase)
                fresh = Draft(
                    harp=draft.harp, owned_only=draft.owned_only, player=draft.player, notation=draft.notation
                )
                return self._read(replace(fresh, base=base, name=command.name, recording=command.recording))
            case CorrectNote():
                return self._correct(draft, command)
            case Choose():
                return self._choose(draft, command)
            case PinMove():
                kept = [pin for pin in draft.pins if pin.event != command.event or (command.avoid and pin.avoid)]
                return replace(draft, pins=(*kept, MovePin(command.event, command.move, command.avoid)))
            case Unpin():
                kept = [pin for pin in draft.pins if command.event is not None and pin.event != command.event]
                return replace(draft, pins=tuple(kept))
            case MarkPart():
                return replace(draft, parts=self._marked(draft, command))
            case NamePart():
                return replace(draft, parts=_named(draft.parts, command))
            case NoteKept():
                return replace(draft, kept=command.uid)
        raise AssertionError(command)

    def _read(self, draft: Draft) -> Draft:
        draft, self._gone, error = read_again(draft)
        if error is not None:
            if draft.base is not None:
                raise error
            self._problem = (error, "text")
        return draft

    def _read_problem(self, draft: Draft) -> None:
        """Say again what keeps a text from being read, which is a draft's too when it is undone to."""
        _, _, error = read_again(draft)
        if error is not None:
            self._problem = (error, "text")

    def _correct(self, draft: Draft, command: CorrectNote) -> Draft:
        if draft.base is None:
            raise SettingsError("jobs.typed_source")
        was = draft.base
        base = corrected(was, command)
        return self._read(replace(draft, base=base))

    def _choose(self, draft: Draft, command: Choose) -> Draft:
        said = {name: value for name, value in asdict(command).items() if value is not UNSET and name != "id"}
        harp = draft.harp
        if "harp" in said:
            harp = replace(harp, key=said["harp"] or None)
            if harp.key:
                said.setdefault("position", None)
        if said.get("position") is not None:
            harp = replace(harp, key=None)
        if "tuning" in said:
            harp = replace(harp, tunings=(said["tuning"],))
        player = replace(draft.player, **{name: said[name] for name in OF_PLAYER if name in said})
        if "level" in said and len(said) == 1:  # a level brings its own techniques
            player = replace(type(player)(), level=said["level"])
        made = replace(draft, harp=harp, player=player, **{name: said[name] for name in OF_DRAFT if name in said})
        return self._read(made) if {"key", "bpm"} & set(said) else made

    def _marked(self, draft: Draft, command: MarkPart) -> tuple[MarkedPart, ...]:
        count = 0 if self._now is None else len(self._now[1].route.events)
        first, last = sorted((command.first, command.last))
        if last >= count:
            raise SettingsError("arrange.no_event", number=last + 1, count=count)
        parts: list[MarkedPart] = []
        for part in draft.parts:
            if part.first < first:
                parts.append(replace(part, last=min(part.last, first - 1)))
            if part.last > last:
                parts.append(replace(part, first=max(part.first, last + 1)))
        taken = {part.label for part in parts}
        label = command.label or next(one for one in _letters() if one not in taken)
        return tuple(sorted([*parts, MarkedPart(label, first, last)], key=lambda part: part.first))

    # ------------------------------------------------------------------------------------------------- settling

    def _settle(self, draft: Draft) -> None:
        """Settle a draft, and note what is played otherwise than before."""
        before = self._now
        settled = settle_draft(draft, self._owned, before)
        self._now = None if settled is None else (draft, settled)
        self._compare(None if before is None else before[1])

    def _compare(self, before: SettledDraft | None) -> None:
        now = None if self._now is None else self._now[1]
        self._changed, self._effort_before = frozenset(), None
        if before is None or now is None or len(before.route.events) != len(now.route.events):
            return
        pairs = zip(before.route.events, now.route.events, strict=True)
        self._changed = frozenset(index for index, (one, two) in enumerate(pairs) if one.choice != two.choice)
        if before.player.level == now.player.level:
            self._effort_before = before.route.effort.total

    # --------------------------------------------------------------------------------------------------- showing

    def _view(self, answers: int) -> WorkbenchView:
        draft, words = self.draft, self._words
        now = None if self._now is None else self._now[1]
        problems = self._problems()
        ribbon = staff = None
        if now is not None:
            drawn = draw_ribbon(now.route, words, layout=self._layout, notation=draft.notation, before=self._ribbon)
            ribbon, self._ribbon = ribbon_shown(drawn, self._ribbon), drawn
            staff = self._staff_at_once(now.route)
            self._notes = notes_shown(draft, now, words, self._changed, before=self._notes)
        else:
            self._ribbon = self._staff = self._notes = None
        return WorkbenchView(
            number=self.number,
            answers=answers,
            title=draft.title or (draft.phrase.title if draft.phrase else ""),
            text=draft.text,
            format=draft.format,
            name=draft.name,
            source="notes" if draft.base is not None else "text" if draft.text.strip() else "",
            problem=problems[0] if problems else None,
            left_out=self._left_out(),
            notes=() if self._notes is None else self._notes.notes,
            parts=() if now is None else None if staff is None else parts_shown(now.route),
            marked=draft.parts,
            facts=None if now is None else facts_shown(now, words, self._effort_before, draft.band),
            choice=choice_shown(draft),
            changed=len(self._changed),
            gone=self._gone,
            can_undo=bool(self.past.before),
            can_redo=bool(self.past.after),
            settling=now is not None and not now.alike,
            kept=draft.kept,
            recording=draft.recording,
            band=draft.band,
            ribbon=ribbon,
            staff=staff,
            more_problems=tuple(problems[1:]),
        )

    def _problems(self) -> list[ProblemShown]:
        """What is wrong: one thing of a choice, all that can't be read of a text."""
        if self._problem is None:
            return []
        error, of = self._problem
        errors = [error, *later_errors(self.draft, error)] if of == "text" else [error]
        text = self.draft.text if of == "text" else ""
        return [problem_shown(one, self._words, text=text, of=of) for one in errors]

    def _staff_at_once(self, route: Route) -> str | None:
        """The staff, where its notes are not those that were shown: the tab under them is changed where it stands."""
        if self._staff is not None and self._staff[0].phrase == route.phrase:
            return None
        staff = staff_of(route, self.draft.notation, self._words)
        self._staff = (route, staff)
        return staff

    def _left_out(self) -> tuple[str, ...]:
        phrase = self.draft.phrase
        if phrase is None:
            return ()
        blocks = left_out_blocks(phrase.left_out, self._words)
        return tuple(line for block in blocks for line in (block.title, *block.lines))

    def _ways(self) -> Iterator[WorkbenchMessage]:
        event, now = self._looking, None if self._now is None else self._now[1]
        if event is None or now is None or event >= len(now.route.events):
            return
        shown = ways_shown(now.settled.others_at(event, now.route), now.route, event, self.draft, self._words)
        yield WaysShown(number=self.number, event=event, ways=shown)

    def _lesson(self, command: GiveLesson) -> LessonGiven:
        now, draft = None if self._now is None else self._now[1], self.draft
        if now is None:
            problem = problem_shown(SettingsError("jobs.no_notes"), self._words, of="choice")
            return LessonGiven(number=self.number, answers=command.id, title="", lesson="", problem=problem)
        route = (now if now.alike else fingered_alike(now, draft)).route
        lesson = make_lesson(route, title=draft.title, notation=draft.notation, languages=command.languages)
        text = encode_lesson(lesson).decode()
        return LessonGiven(number=self.number, answers=command.id, title=lesson.title, lesson=text)

    # ---------------------------------------------------------------------------------------------------- at rest

    def rest(self) -> Iterator[WorkbenchMessage | None]:
        """What is found out while nobody says anything, step by step; None for a step that tells nothing."""
        if self._now is None:
            return
        draft, now = self._now
        if len(now.route.events) <= MOST_FOUND_OUT:
            if not now.alike:
                yield from self._alike()
                now = self._now[1]
            yield None
            yield self._written(now.route)
            self._survey = surveyed(draft, now, self._owned, self._survey)
            yield survey_shown(self._survey.found, draft, now, self._owned, self.number)
            yield from self._prices(draft, now)
            yield from self._trade_off(now)
        yield WorkRested(number=self.number)

    def _alike(self) -> Iterator[WorkbenchMessage]:
        """The route with figures alike where that is worth it, as a lesson of it would have it."""
        assert self._now is not None
        draft, now = self._now
        alike = fingered_alike(now, draft)
        moved = {
            index
            for index, (one, two) in enumerate(zip(now.route.events, alike.route.events, strict=True))
            if one.choice != two.choice
        }
        self._now = (draft, alike)
        self._changed |= moved
        yield self._view(0)

    def _written(self, route: Route) -> WrittenShown:
        """What is written out; the staff where only its tab was changed since it was engraved."""
        words, notation = self._words, self.draft.notation
        staff = None
        if self._staff is not None and self._staff[0] != route:
            made = staff_of(route, notation, words)
            staff = None if made == self._staff[1] else made
            self._staff = (route, made)
        tab = format_tab(route, notation=notation, catalogue=words)
        return WrittenShown(number=self.number, tab=tab, parts=parts_shown(route), staff=staff)

    def _trade_off(self, now: SettledDraft) -> Iterator[WorkbenchMessage | None]:
        routes: list[Route] = []
        for route in trade_off_routes(now):
            routes.append(route)
            yield None
        yield trade_off_shown(routes, self.number)

    def _prices(self, draft: Draft, now: SettledDraft) -> Iterator[WorkbenchMessage]:
        levels: list[Price] = []
        techniques: list[Price] = []
        for found, into in ((technique_prices(draft, now), techniques), (level_prices(draft, now), levels)):
            for price in found:
                into.append(price)
                yield PricesShown(number=self.number, levels=tuple(levels), techniques=tuple(techniques), done=False)
        yield PricesShown(number=self.number, levels=tuple(levels), techniques=tuple(techniques), done=True)


def _goes_on(begun: str | None, text: str) -> bool:
    """Whether a text is still the same step as the one that typing began with: about as long, of as many lines."""
    if begun is None or text.count("\n") != begun.count("\n"):
        return False
    return abs(len(text) - len(begun)) <= MOST_TYPED


def _letters() -> Iterator[str]:
    """A, B, ... Z, A2, B2, ..."""
    turn = 1
    while True:
        yield from (f"{chr(ord('A') + letter)}{'' if turn == 1 else turn}" for letter in range(26))
        turn += 1


def _named(parts: Sequence[MarkedPart], command: NamePart) -> tuple[MarkedPart, ...]:
    if command.part >= len(parts):
        raise SettingsError("jobs.no_marked_part", number=command.part + 1, count=len(parts))
    if not command.label.strip():
        return tuple(part for index, part in enumerate(parts) if index != command.part)
    return tuple(
        replace(part, label=command.label.strip()) if index == command.part else part
        for index, part in enumerate(parts)
    )


def _latest(channel: Channel, first: bytes | None) -> list[Command] | None:
    """The commands that have come, of typing in a row only the last; None when there will be none."""
    found: list[Command] = []
    message = first
    while message is not None:
        with suppress(ReedpathError):  # a command of another program or version: not carried out
            command = read_command(message)
            if found and isinstance(command, TypeSource) and isinstance(found[-1], TypeSource):
                found.pop()
            found.append(command)
        if not channel.waiting:
            return found
        message = channel.receive()
    return None


def _next_message(
    channel: Channel, resting: Iterator[WorkbenchMessage | None], *, quiet_seconds: float
) -> bytes | None:
    """The next message; what is found out at rest is told meanwhile, from a moment of quiet on."""
    with suppress(TimeoutError):
        return channel.receive(seconds=quiet_seconds)
    while not channel.waiting:
        told = next(resting, _NOTHING)
        if isinstance(told, _Nothing):
            break
        if told is not None:
            channel.send(encode_message(told))
    return channel.receive()


def converse(channel: Channel, past: WorkbenchPast | None, settings: dict[str, Any]) -> None:
    """Talk until the other end is closed.

    settings : arguments of `Workbench` beside the past.
    """
    bench = Workbench(past, **settings)
    # what is loaded by now stays: looking through it for rubbish would hold a click up by some 50 ms now and then
    gc.collect()
    gc.freeze()
    gc.disable()
    resting, quiet_seconds = bench.rest(), QUIET_SECONDS
    while True:
        gc.collect(1)
        commands = _latest(channel, _next_message(channel, resting, quiet_seconds=quiet_seconds))
        if commands is None:
            return
        for command in commands:
            for message in bench.answer(command):
                channel.send(encode_message(message))
        last = commands[-1] if commands else None
        is_choosing = isinstance(last, LookAt) and last.event is not None
        quiet_seconds = CHOOSING_SECONDS if is_choosing else QUIET_SECONDS
        if not all(isinstance(command, LookAt | GiveLesson) for command in commands):
            resting = bench.rest()


class _Nothing:
    """Nothing is left to find out."""


_NOTHING = _Nothing()

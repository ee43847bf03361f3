"""The backing: a band under a lesson, round after round, with the student's turns.

A round is as long as the form, or as many times it as the phrase needs. The phrase begins each round, or stands at
the bars of the form that are asked for; what it leaves of the round is the student's. In call and response every
second round has no harmonica at all, or the bars after the phrase are the student's (`turns`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np
from msgspec.structs import replace

from reedpath.arrange import Route
from reedpath.errors import SoundError
from reedpath.harmony import Form, core_bars
from reedpath.lesson import Lesson, Rung
from reedpath.phrase import Phrase, Timing, beat_of, counted_beats, metre_at, timing_of
from reedpath.pitch import Key
from reedpath.signal import Samples
from reedpath.sound.band import BandFeel, BandPart, BarClock, Groove, check_bank, play_band, sound_part
from reedpath.sound.choosing import bars_of, choose
from reedpath.sound.click import Click, render_bells, render_clicks
from reedpath.sound.levelling import levelled
from reedpath.sound.mix import CLICK_DB, VOICE_DB, Track, mixed, placed_in_room
from reedpath.sound.plan import Plan, plan_route
from reedpath.sound.play_alongs import (
    HEAD_SECONDS,
    SOUND_RATE,
    PlayAlong,
    check_length,
    count_in_beats,
)
from reedpath.sound.played_moves import SoundSpan
from reedpath.sound.tones import Tone
from reedpath.sound.turns import BarTurn, TurnTimes, bar_turns, turn_times
from reedpath.sound.voice import render_tones

# seconds for the last chord to ring out
TAIL_SECONDS = 2.8
# seconds at the end over which what still rings, a cymbal above all, is faded out; our choice
FADE_OUT_SECONDS = 1.2
# seconds within which two moments are one
SAME_SECONDS = 1e-6
# rounds that may be asked for: twelve minutes of middling twelve-bar rounds, which take 1 GB of memory
MOST_ROUNDS = 24
# seeds that may be asked for, a number that is easily said; bars of an intro, one round of most forms; times the
# usual looseness: exaggerated deviations are liked less than none (Datseris et al., Scientific Reports 9, 2019)
MOST_SEED, MOST_INTRO_BARS, MOST_LOOSENESS = 999_999, 12, 2.0
# players that may be left out
PLAYERS = ("drums", "bass", "guitar", "piano")


@dataclass(frozen=True, slots=True)
class Backing(PlayAlong):
    """A play-along in which a band plays: what the band is to do.

    form, groove : names of shipped ones, or "auto" for what suits the lesson.
    key : of the music; None for the lesson's.
    rounds : how many times the form, or the phrase, goes round.
    chords : "guitar", "piano" or "both".
    without : players left out, of drums, bass, guitar, piano.
    bank : file of a sound bank of one's own, SoundFont 2 or 3; None for the one that is installed.
    seed : what the band's freedom is drawn from; the same seed gives the same sound.
    looseness : times the usual wandering of the band's time; 0 for a band that stands on the beat.
    intro : bars that the band plays before the first round.
    at_bars : bars of the form, from 1, at which the phrase stands; none for the beginning of each round.
    as_turnaround : whether it stands at the end of the form too.
    """

    form: str = "auto"
    groove: str = "auto"
    key: Key | None = None
    rounds: int = 2
    chords: str = "guitar"
    without: frozenset[str] = frozenset()
    bank: Path | None = None
    seed: int = 2
    looseness: float = 1.0
    intro: int = 0
    at_bars: tuple[int, ...] = ()
    as_turnaround: bool = False

    def __post_init__(self) -> None:
        if not 0 <= self.seed <= MOST_SEED:
            raise SoundError("sound.seed", seed=self.seed, most=MOST_SEED)
        if not 0.0 <= self.looseness <= MOST_LOOSENESS:
            raise SoundError("sound.looseness", looseness=self.looseness, most=MOST_LOOSENESS)
        if not 0 <= self.intro <= MOST_INTRO_BARS:
            raise SoundError("sound.intro", bars=self.intro, most=MOST_INTRO_BARS)
        if not 1 <= self.rounds <= MOST_ROUNDS:
            raise SoundError("sound.rounds", count=self.rounds, most=MOST_ROUNDS)
        if self.chords not in ("guitar", "piano", "both"):
            raise SoundError("sound.chords_on", name=self.chords)
        unknown = sorted(self.without - set(PLAYERS))
        if unknown:
            raise SoundError("sound.unknown_player", name=unknown[0], known=PLAYERS)

    @property
    def left_out(self) -> frozenset[str]:
        """Players that do not play."""
        other = {"guitar": {"piano"}, "piano": {"guitar"}, "both": set()}[self.chords]
        return self.without | other


@dataclass(frozen=True, slots=True)
class Round:
    """One round, or one turn of a phrase that stands at bars of the form.

    zero_seconds : where beat 0 of the phrase lies. start_seconds : where its first bar begins.
    played : whether the harmonica plays it.
    onset : quarter notes from beat 0 of all rounds to that of the phrase here. beats : until the next one's.
    """

    zero_seconds: float
    start_seconds: float
    played: bool
    onset: Fraction
    beats: Fraction


@dataclass(frozen=True, slots=True)
class BackingLayout:
    """Where everything lies, in seconds from the start of the sound.

    form, groove, key : what the band plays.
    route : the lesson's route as it is played, swung where the groove needs it.
    round_beats : quarter notes of a round of the form. beats : of all rounds.
    is_placed : whether the phrase stands at bars of the form that were asked for; then ``rounds`` are its turns.
    plan : the performance of one round, from its beat 0.
    rounds, clicks, parts : rounds, knocks and the band's notes.
    cues : the beats that count the student in, by a bell, where the harmonica has played the round before.
    seconds : length of the sound.
    bank : the sound bank of one's own.
    """

    form: Form
    groove: Groove
    key: Key
    route: Route
    round_beats: Fraction
    plan: Plan
    rounds: tuple[Round, ...]
    clicks: tuple[Click, ...]
    parts: tuple[BandPart, ...]
    seconds: float
    bank: Path | None = None
    cues: tuple[Click, ...] = ()
    beats: Fraction = Fraction(0)
    is_placed: bool = False

    def __post_init__(self) -> None:
        check_length(self.seconds)

    @property
    def tones(self) -> tuple[Tone, ...]:
        """Every tone of the harmonica."""
        played = [one.zero_seconds for one in self.rounds if one.played]
        return tuple(tone for zero in played for tone in self.plan.delayed(zero).tones)

    @property
    def tones_of_all(self) -> tuple[Tone, ...]:
        """Every tone, were the harmonica to play every round."""
        return tuple(tone for one in self.rounds for tone in self.plan.delayed(one.zero_seconds).tones)

    @property
    def has_only_clicks(self) -> bool:
        """Whether neither harmonica nor band plays."""
        return not self.parts and not any(one.played for one in self.rounds)

    @property
    def spans(self) -> tuple[tuple[SoundSpan, ...], ...]:
        """For each round that the harmonica plays, when each event sounds."""
        return tuple(self.plan.delayed(one.zero_seconds).spans for one in self.rounds if one.played)


def _bar_clock(timing: Timing, times: TurnTimes) -> BarClock:
    """When a counted beat of a bar sounds."""
    whole = times.bar_beats / 4
    swung = replace(timing, straight_beats=frozenset())

    def clock(number: int, beat: float, steps: int) -> float:
        zero, at = times.place_of(number)
        floor = int(beat)
        first, second = (swung.seconds_at(at + whole * step) for step in (floor, floor + 1))
        part = beat - floor
        if part == 0.5 and steps == 8:
            if whole != 1:
                part = 2.0 / 3.0
            else:
                return zero + swung.seconds_at(at + floor + Fraction(1, 2))
        return zero + first + part * (second - first)

    return clock


def _is_counted_in(before: BarTurn | None, now: BarTurn, needed: int, *, intro: int, is_placed: bool) -> bool:
    """
    Whether a bell counts in.

    It does for the student after the harmonica, and at places of its own after the band alone. After an intro the
    first bar is counted in too, whoever plays it: the count-in is long over then.
    """
    if before is None:
        return intro > 0 if now.bar == 0 else not now.played
    return not now.played and (before.played or (is_placed and before.bars > needed))


def _cues(
    phrase: Phrase,
    clock: BarClock,
    turns: Sequence[BarTurn],
    rounds: Sequence[Round],
    needed: int,
    *,
    intro: int,
    is_placed: bool,
) -> Iterator[Click]:
    """The beats of the bar before each turn that is counted in, up to its first note."""
    metre = metre_at(phrase, Fraction(0))
    counted = math.ceil(count_in_beats(phrase, 1) / beat_of(metre))
    places = [4 * beat_of(metre) / metre.bar * beat for beat in range(int(metre.bar / beat_of(metre)))]
    for before, now, one in zip((None, *turns), turns, rounds, strict=False):
        if _is_counted_in(before, now, needed, intro=intro, is_placed=is_placed):
            known = [bar for bar in (now.bar - 2, now.bar - 1) if bar >= -intro]
            beats = [Click(clock(bar, float(place), 4), place == 0) for bar in known for place in places]
            first = min(one.zero_seconds, one.start_seconds)
            yield from [beat for beat in beats if beat.seconds < first - SAME_SECONDS][-counted:]


def _bars_needed(phrase: Phrase) -> int:
    """Bars of a round: those of the phrase, and one more where its last note would meet the next round's pickup."""
    count = bars_of(phrase)
    first = min((event.onset for event in phrase.events), default=Fraction(0))
    return count + (phrase.end > count * metre_at(phrase, Fraction(0)).bar + first)


def lay_out_backing(lesson: Lesson, rung: Rung, backing: Backing | None = None) -> BackingLayout:
    """Where everything lies when the band plays the lesson at a rung.

    Raises
    ------
    SoundError
        For a metre the band cannot play, an unknown key, a groove that the phrase's swing contradicts, bars at which
        the phrase cannot stand, or a bank of one's own that cannot be read or lacks a player.
    SettingsError
        For an unknown form or groove.
    """
    wanted = backing or Backing()
    chosen = choose(
        lesson.route,
        form=wanted.form,
        groove=wanted.groove,
        key=wanted.key,
        at_bars=wanted.at_bars,
        as_turnaround=wanted.as_turnaround,
    )
    phrase = chosen.route.phrase
    timing = timing_of(phrase).scaled(rung.factor)
    counted = count_in_beats(phrase, wanted.count_in_bars)
    count_zero = HEAD_SECONDS - timing.seconds_at(-counted)

    needed, bar_beats = _bars_needed(phrase), metre_at(phrase, Fraction(0)).bar
    round_bars = len(chosen.form.bars) * -(-needed // len(chosen.form.bars))
    bars = round_bars * wanted.rounds
    turns = bar_turns(
        wanted.turns,
        form_bars=round_bars,
        rounds=wanted.rounds,
        needed=needed,
        core=core_bars(phrase),
        at_bars=chosen.at_bars,
    )
    opening = timing.seconds_at(phrase.pickup)
    intro_seconds = opening - timing.seconds_at(phrase.pickup - wanted.intro * bar_beats)
    times = turn_times(turns, phrase, timing, count_zero + intro_seconds)
    clock = _bar_clock(timing, times)
    rounds = tuple(
        Round(start, start + opening, one.played, one.bar * bar_beats, one.bars * bar_beats)
        for one, start in zip(turns, times.zeros, strict=True)
    )
    plan = plan_route(chosen.route, timing, slap_accents=wanted.slap_accents)
    lead = [
        (one.zero_seconds + span.start_seconds, one.zero_seconds + span.end_seconds)
        for one in rounds
        for span in plan.spans
    ]
    feel = BandFeel(wanted.seed, wanted.looseness, tuple(lead))
    band = play_band(
        chosen.form,
        chosen.groove,
        chosen.key,
        clock,
        bars=bars,
        round_bars=round_bars,
        intro=wanted.intro,
        feel=feel,
    )
    # a pickup is played over the end of what comes before it: of the count-in, or of what the band plays first
    counted_until = phrase.pickup if wanted.intro or turns[0].bar else Fraction(0)
    clicks = [
        Click(count_zero + timing.seconds_at(beat.onset), beat.first)
        for beat in counted_beats(phrase, -counted, counted_until)
    ]
    if wanted.click_through:
        clicks += [Click(clock(bar, beat, 4), beat == 0) for bar in range(-wanted.intro, bars) for beat in range(4)]
    parts = tuple(part for part in band if part.name not in wanted.left_out)
    if wanted.bank is not None:
        check_bank(wanted.bank, parts)
    is_placed = bool(chosen.at_bars)
    cues = tuple(_cues(phrase, clock, turns, rounds, needed, intro=wanted.intro, is_placed=is_placed))
    over = max(clock(bars, 0.0, 4), times.zeros[-1] + plan.seconds if is_placed else 0.0)
    return BackingLayout(
        chosen.form,
        chosen.groove,
        chosen.key,
        chosen.route,
        round_bars * bar_beats,
        plan,
        rounds,
        tuple(clicks),
        parts,
        over + TAIL_SECONDS,
        wanted.bank,
        cues,
        bars * bar_beats,
        is_placed,
    )


@dataclass(frozen=True, slots=True, eq=False)
class BackingPiece:
    """A piece of a backing that is to be sounded.

    tones : of the harmonica, those heard in the piece. start_seconds, seconds : where it begins, and its length.
    rate : hertz. bank : a General MIDI sound bank; None for the layout's own.
    gains : of each player, as `part_gain` gives them; from the piece's own loudness for None.
    """

    layout: BackingLayout
    tones: Sequence[Tone]
    seconds: float
    rate: int
    bank: Path | None
    start_seconds: float = 0.0
    gains: Mapping[str, float] | None = None


def backing_tracks(piece: BackingPiece) -> Iterator[Track]:
    """The tracks of a piece of a backing one at a time, so that only one is held beside the mix."""
    layout, seconds, rate, start_seconds = piece.layout, piece.seconds, piece.rate, piece.start_seconds
    clicks = [Click(click.seconds - start_seconds, click.first) for click in layout.clicks]
    yield Track(render_clicks(clicks, seconds=seconds, rate=rate), CLICK_DB)
    if layout.cues:
        cues = [Click(cue.seconds - start_seconds, cue.first) for cue in layout.cues]
        yield Track(render_bells(cues, seconds=seconds, rate=rate), CLICK_DB)
    for part in layout.parts:
        yield Track(
            sound_part(
                part,
                seconds=seconds,
                rate=rate,
                a4_hz=layout.route.harp.a4_hz,
                bank=piece.bank or layout.bank,
                start_seconds=start_seconds,
                gain=None if piece.gains is None else piece.gains[part.name],
            )
        )
    if piece.tones:
        dry = render_tones(piece.tones, seconds=seconds, start_seconds=start_seconds, rate=rate)
        yield Track(placed_in_room(dry, rate=rate), VOICE_DB)


def mixed_backing(piece: BackingPiece) -> Samples:
    """A piece of a backing, stereo, as loud as it comes; what rings at the end of the whole is faded out."""
    mix = mixed(backing_tracks(piece), seconds=piece.seconds, rate=piece.rate)
    fades_from = round((piece.layout.seconds - FADE_OUT_SECONDS - piece.start_seconds) * piece.rate)
    first = max(0, fades_from)
    if first < mix.shape[1]:
        share = (np.arange(first, mix.shape[1]) - fades_from) / (FADE_OUT_SECONDS * piece.rate)
        mix[:, first:] *= np.square(np.cos(np.minimum(share, 1.0) * np.pi / 2.0)).astype(np.float32)
    return Samples(np.ascontiguousarray(mix.T), piece.rate)


def play_with_band(
    lesson: Lesson,
    rung: Rung,
    backing: Backing | None = None,
    *,
    rate: int = SOUND_RATE,
    bank: Path | None = None,
) -> Samples:
    """
    The lesson with a band, stereo: count-in, then round after round, then a last chord.

    Events lie where `lay_out_backing` with the same arguments says; the band is tuned to the harp's reference.

    bank : a General MIDI sound bank; None for the backing's own, else the one that is installed.
    """
    layout = lay_out_backing(lesson, rung, backing)
    whole = mixed_backing(BackingPiece(layout, layout.tones, layout.seconds, rate, bank))
    if not layout.has_only_clicks:
        return levelled(whole)
    played = mixed_backing(BackingPiece(layout, layout.tones_of_all, layout.seconds, rate, bank))
    return levelled(whole, by=played)

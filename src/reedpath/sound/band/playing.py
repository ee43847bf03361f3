"""Playing: a form and a groove, in a key and on a clock, become the notes of a band.

The clock says when a counted beat of a bar sounds. Eighths swing with the lesson, those of the drums of some grooves
as a ride cymbal does at the tempo; triplets and sixteenths divide the beat evenly. Where the form turns there is a
fill, later rounds grow, guitar and piano answer the phrase in its rests; after the last round everybody ends on the
tonic.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from reedpath.harmony import Chord, Form
from reedpath.pitch import Key
from reedpath.sound.band.comping import LeadRests
from reedpath.sound.band.feel import BandFeel, PlayerFeel, load_feel, ride_swing, round_level
from reedpath.sound.band.groove_rows import GrooveBar, GrooveStep
from reedpath.sound.band.grooves import BandPlayer, DrumRow, Groove

# seconds that the last chord rings
LAST_SECONDS = 2.0
# MIDI velocity of the last chord; General MIDI keys of the drums that end with it: bass drum, crash cymbal
LAST_VELOCITY, LAST_DRUMS = 100, (36, 49)
# seconds of a drum's stroke, which rings out by itself
STROKE_SECONDS = 0.2
# share of its step that a note sounds, so that repeated notes are heard apart; our choice
SOUNDING_SHARE = 0.92
# semitones of each degree that does not depend on the chord: second, fourth, fifth, sixth, octave, ninth
FIXED_DEGREES = {1: 0, 2: 2, 4: 5, 5: 7, 6: 9, 8: 12, 9: 14}
# sections of the rounds after the first, each with what is played where a groove has none of its own
GROWN = ((), ("second",), ("second", "third"))

# bar (counted from 0, of an intro under 0), counted beat in it, steps in the bar -> seconds
BarClock = Callable[[int, float, int], float]


@dataclass(frozen=True, slots=True)
class BandNote:
    """One note of the band: seconds from the band's clock's 0, MIDI number (of drums the General MIDI key)."""

    start_seconds: float
    seconds: float
    midi: int
    velocity: int


@dataclass(frozen=True, slots=True)
class BandPart:
    """One player's notes: name, General MIDI program counted from 0, loudness in LUFS, drums or not."""

    name: str
    program: int
    loudness: float
    notes: tuple[BandNote, ...]
    drums: bool = False


@dataclass(frozen=True, slots=True)
class _Course:
    """What is played, bar by bar: `play_band`'s arguments, and what follows from them."""

    form: Form
    key: Key
    clock: BarClock
    bars: int
    round_bars: int
    intro: int
    feel: BandFeel | None

    @property
    def all_bars(self) -> range:
        return range(-self.intro, self.bars)

    @property
    def tonic(self) -> Chord:
        return self.form.chords_of_bar(0, self.key)[0]

    def chords_of(self, bar: int) -> tuple[Chord, ...]:
        last = bar >= self.bars - len(self.form.bars)
        return self.form.chords_of_bar(bar % self.round_bars, self.key, last_round=last)

    def following(self, bar: int) -> Chord:
        return self.chords_of(bar + 1)[0] if bar + 1 < self.bars else self.tonic

    def level(self, bar: int) -> int:
        """How far the round of a bar has grown."""
        return round_level(bar // self.round_bars, self.bars // self.round_bars) if self.feel else 0

    def section(self, bar: int) -> str:
        """What a bar is in the form: "ending", "fill", "turn", "top" or "" for a usual one."""
        place = bar % self.round_bars
        if self.feel and bar == self.bars - 1:
            return "ending"
        if bar == -1 or place == self.round_bars - 1:
            return "fill"
        if self.feel and self.form.turns_after(place):
            return "turn"
        return "top" if self.feel and place == 0 and bar > 0 else ""

    def feel_of(self, player: str) -> PlayerFeel | None:
        beats = 4 * (self.intro + self.bars + 1)
        return PlayerFeel(self.feel, player, beats, load_feel().players) if self.feel else None

    def written(self, bars: Sequence[GrooveBar], bar: int, feel: PlayerFeel | None, *, chosen: bool) -> GrooveBar:
        """Which of several bars is played: the next, or one that is drawn."""
        return bars[feel.one_of(len(bars)) if feel and chosen else bar % len(bars)]

    def beat(self, bar: int, place: float) -> float:
        return 4.0 * (bar + self.intro) + place


def _placed(pitch_class: int, lowest: int) -> int:
    """The lowest MIDI number of a pitch class that is not under ``lowest``."""
    return lowest + (pitch_class - lowest) % 12


def _degree_semitones(chord: Chord, degree: int) -> int:
    if degree == 3:
        return chord.third
    return chord.seventh if degree == 7 else FIXED_DEGREES[degree]


def _midi(step: GrooveStep, chord: Chord, following: Chord, lowest: int) -> list[int]:
    """What a step sounds on a chord, the next bar's or half bar's chord being known."""
    if step.lead:
        return [_placed(following.root, lowest) + step.lead]
    if step.degrees:
        root = _placed(chord.root, lowest)
        return sorted({root + _degree_semitones(chord, degree) for degree in step.degrees})
    upper = chord.steps[1:] if len(chord.steps) > 3 else chord.steps
    return sorted(_placed((chord.root + steps) % 12, lowest) for steps in upper)


def _chord_at(chords: tuple[Chord, ...], place: float) -> Chord:
    return chords[min(len(chords) - 1, int(place * len(chords) / 4.0))]


# --------------------------------------------------------------------------------------------------------- drums


def _over(rows: tuple[DrumRow, ...], others: tuple[DrumRow, ...]) -> tuple[DrumRow, ...]:
    """Rows with others in place of those of the same drums."""
    taken = {row.note for row in others}
    return (*(row for row in rows if row.note not in taken), *others)


def _rows_of(groove: Groove, course: _Course, bar: int) -> tuple[tuple[DrumRow, ...], tuple[DrumRow, ...]]:
    """The rows of a bar that go round with the form, and those of its section, of which one bar is taken."""
    section = course.section(bar)
    if section == "ending" and section in groove.drum_sections:
        return (), groove.drum_sections[section]
    own = groove.drum_sections.get("fill" if section == "ending" else section, ())
    rows = groove.drums
    for grown in GROWN[course.level(bar)]:
        rows = _over(rows, groove.drum_sections.get(grown, ()))
    taken = {row.note for row in own}
    return tuple(row for row in rows if row.note not in taken), own


def _ridden(clock: BarClock) -> BarClock:
    """A clock whose eighths swing as a ride cymbal's do at the tempo."""

    def ridden(bar: int, place: float, steps: int) -> float:
        if steps != 8 or place % 1.0 == 0.0:
            return clock(bar, place, steps)
        beat, after = (clock(bar, float(int(place) + more), steps) for more in (0, 1))
        ratio = ride_swing(60.0 / (after - beat))
        return beat + (after - beat) * ratio / (ratio + 1.0)

    return ridden


def _drum_notes(groove: Groove, course: _Course) -> Iterator[BandNote]:
    clock = _ridden(course.clock) if groove.has_ride_swing and course.feel else course.clock
    feel, growth = course.feel_of("drums"), load_feel().growth_db
    for bar in course.all_bars:
        rows, own = _rows_of(groove, course, bar)
        which = feel.one_of(max(len(row.bars) for row in own)) if feel and own else bar
        strokes = [(row.note, step) for row in rows for step in row.bars[bar % len(row.bars)]]
        strokes += [(row.note, step) for row in own for step in row.bars[which % len(row.bars)]]
        for note, step in strokes:
            at, velocity = clock(bar, step.place, step.steps), step.velocity
            if feel:
                beat = course.beat(bar, step.place)
                at, velocity = at + feel.late(beat), feel.velocity(velocity, beat, growth[course.level(bar)])
            yield BandNote(at, STROKE_SECONDS, note, velocity)
    end = course.clock(course.bars, 0.0, 8)
    yield from (BandNote(end, LAST_SECONDS, key, LAST_VELOCITY) for key in LAST_DRUMS)


# ------------------------------------------------------------------------------------------- bass, guitar and piano


def _lead_rests(course: _Course) -> LeadRests | None:
    """Where the phrase leaves room; None where nothing is known of it."""
    if course.feel is None:
        return None
    beat, numbers = course.clock(0, 1.0, 4) - course.clock(0, 0.0, 4), load_feel()
    return LeadRests(
        course.feel.lead, room_seconds=numbers.room_beats * beat, answer_seconds=numbers.answer_beats * beat
    )


def _steps_of(
    name: str, player: BandPlayer, course: _Course, bar: int, feel: PlayerFeel | None, rests: LeadRests | None
) -> Iterator[tuple[GrooveStep, float]]:
    """What a player does in a bar, each with the decibels by which it is louder than written."""
    section = {"fill": "turn", "top": ""}.get(course.section(bar), course.section(bar))
    bars = player.bars
    for grown in GROWN[course.level(bar)]:
        bars = player.sections.get(grown, bars)
    own = player.sections.get(section) if feel else None
    usual = course.written(own or bars, bar, feel, chosen=own is not None)
    growth = load_feel().growth_db[course.level(bar)]
    if rests is None:
        yield from ((step, 0.0) for step in usual)
        return
    answer = player.sections.get("answer") if section != "ending" else None
    answering = course.written(answer, bar, feel, chosen=True) if answer else None
    # under the notes of the phrase nobody grows or turns: there the first round's bar goes on, softer
    for step in course.written(player.bars, bar, feel, chosen=False):
        if rests.is_under(course.clock(bar, step.place, step.steps)) and not step.is_free:
            yield step, load_feel().under_db
    for step in usual:
        at = course.clock(bar, step.place, step.steps)
        if not rests.is_under(at) and not (answering is not None and rests.is_answered(at)):
            yield step, growth
    for step in answering or ():
        if rests.is_answered(course.clock(bar, step.place, step.steps)):
            yield step, growth


def _player_notes(name: str, player: BandPlayer, course: _Course) -> Iterator[BandNote]:
    feel, rests = course.feel_of(name), _lead_rests(course)
    for bar in course.all_bars:
        chords, following = course.chords_of(bar), course.following(bar)
        for step, more_db in _steps_of(name, player, course, bar, feel, rests):
            chord = _chord_at(chords, step.place)
            start, end = (course.clock(bar, at, step.steps) for at in (step.place, step.place + step.length))
            at, velocity = start, step.velocity
            if feel:
                beat = course.beat(bar, step.place)
                at, velocity = start + feel.late(beat), feel.velocity(velocity, beat, more_db)
            for midi in _midi(step, chord, following, player.lowest):
                yield BandNote(at, (end - start) * SOUNDING_SHARE, midi, velocity)
    whole = GrooveStep(0.0, 1.0, (1,) if name == "bass" else (), 0, LAST_VELOCITY, 8)
    end = course.clock(course.bars, 0.0, 8)
    for midi in _midi(whole, course.tonic, course.tonic, player.lowest):
        yield BandNote(end, LAST_SECONDS, midi, LAST_VELOCITY)


def play_band(
    form: Form,
    groove: Groove,
    key: Key,
    clock: BarClock,
    *,
    bars: int,
    round_bars: int,
    intro: int = 0,
    feel: BandFeel | None = None,
) -> list[BandPart]:
    """
    The notes of every player of a groove.

    clock : when a counted beat of a bar sounds, given the bar from 0, the beat 0 to 4 and the steps of the bar.
    bars : how many are played; the band ends on the first beat of the next.
    round_bars : bars from one fill to the next; the last so many have the form's ending.
    intro : bars before the first, on the form's last chords.
    feel : how freely it plays; None for every bar as it is written, round after round.
    """
    course = _Course(form, key, clock, bars, round_bars, intro, feel)
    parts = []
    if groove.drums:
        parts.append(BandPart("drums", 0, groove.drums_loudness, tuple(_drum_notes(groove, course)), drums=True))
    return parts + [
        BandPart(name, player.program, player.loudness, tuple(_player_notes(name, player, course)))
        for name, player in groove.players.items()
    ]

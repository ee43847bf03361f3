"""The band under a lesson: what is chosen, where rounds lie, who plays, and what is refused."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from reedpath.errors import SettingsError, SoundError
from reedpath.harmony import load_form
from reedpath.lesson import Lesson
from reedpath.phrase import Metre, Tempo
from reedpath.pitch import Key
from reedpath.sound import Backing, Click, Turns, lay_out_backing, play_with_band
from reedpath.sound.backing import BackingPiece, backing_tracks, mixed_backing
from reedpath.sound.choosing import bars_of, choose_form, choose_groove, fit_of, music_key
from support.built_routes import built_lesson, built_route
from support.tiny_bank import sine, tiny_bank, write_bank

LICK = "2d 3d' 4b 4d' 4d:1 r:1 5d 4d 4b 3d' 2d:1 r:1"


def lesson(text: str = LICK, **more: object) -> Lesson:
    fields = {"key": "A", "bpm": 96.0, "swing": Fraction(2), "music_key": Key(4), **more}
    return built_lesson(built_route(text, **fields), factors=(0.5, 1.0))


def full(given: Lesson, backing: Backing | None = None):
    return lay_out_backing(given, given.ladder[-1], backing)


def test_a_short_riff_is_played_over_one_chord_in_its_key() -> None:
    layout = full(lesson())
    assert (layout.form.name, layout.key) == ("one-chord", Key(4))
    assert layout.groove.swing != "unwanted"


# a line that outlines the changes in E on an A harp, a bar each (2 draw is E, 4 blow A, 4 draw B)
OVER_TWELVE = ["2d:2 3d:2"] * 4 + ["4b:2 5b:2"] * 2 + ["2d:2 3d:2"] * 2 + ["4d:4", "4b:4", "2d:4", "4d:4"]
OVER_EIGHT = ["2d:4", "4d:4", "4b:4", "4b:4", "2d:4", "4d:4", "2d:2 4b:2", "2d:2 4d:2"]


def test_a_line_over_the_changes_gets_them() -> None:
    assert full(lesson(" ".join(OVER_TWELVE))).form.name == "twelve-bar"
    assert full(lesson(" ".join(OVER_EIGHT))).form.name == "eight-bar"


def test_a_long_line_over_one_chord_stays_on_it() -> None:
    assert full(lesson("2d:2 3d:2 " * 12)).form.name == "one-chord"


def test_a_minor_line_gets_the_minor_round() -> None:
    # Am on a G harp, third position: roots of the minor twelve-bar
    bars = ["1d:4"] * 4 + ["2d:4"] * 2 + ["1d:4"] * 2 + ["3d':4", "3d'':4", "1d:4", "3d'':4"]
    given = lesson(" ".join(bars), key="G", music_key=Key(9, "minor"))
    chosen = choose_form(given.route.phrase, Key(9, "minor"))
    assert chosen.mode in ("minor", "any")
    assert fit_of(load_form("minor-twelve-bar"), given.route.phrase, Key(9, "minor")) > 0.5


@pytest.mark.parametrize(
    ("bpm", "swung", "form", "groove"),
    [
        (56, True, "twelve-bar", "slow"),
        (110, True, "twelve-bar", "shuffle"),
        (210, True, "twelve-bar", "swift"),
        (60, False, "eight-bar", "soft"),
        (120, False, "twelve-bar", "straight"),
        (120, True, "one-chord", "boogie"),
        (130, False, "one-chord", "boogie"),
        (20, True, "twelve-bar", "slow"),
        (400, False, "twelve-bar", "boogie"),
    ],
)
def test_the_groove_suits_tempo_swing_and_form(bpm: float, swung: bool, form: str, groove: str) -> None:
    assert choose_groove(load_form(form), bpm, is_swung=swung).name == groove


def test_the_same_groove_is_kept_down_the_ladder() -> None:
    given = lesson(bpm=110.0)
    names = {lay_out_backing(given, rung, Backing(form="twelve-bar")).groove.name for rung in given.ladder}
    assert names == {"shuffle"}


def test_the_key_comes_from_the_position_where_the_phrase_has_none() -> None:
    assert music_key(built_route("2d", key="A")) == Key(4)


def test_rounds_follow_one_another_and_the_phrase_begins_each() -> None:
    layout = full(lesson(), Backing(form="twelve-bar", rounds=3))
    twelve = 48 * 60 / 96
    starts = [one.start_seconds for one in layout.rounds]
    assert np.diff(starts) == pytest.approx([twelve, twelve])
    assert [spans[0].start_seconds for spans in layout.spans] == pytest.approx(starts)
    assert layout.seconds == pytest.approx(starts[0] + 3 * twelve + 2.8)


def test_a_phrase_longer_than_its_form_takes_several_of_it() -> None:
    layout = full(lesson("2d:4 " * 3), Backing(form="one-chord", rounds=2))
    assert layout.rounds[1].start_seconds - layout.rounds[0].start_seconds == pytest.approx(16 * 60 / 96)


def test_a_pickup_comes_before_each_round() -> None:
    given = lesson("2d:1 3d:4", pickup=Fraction(1))
    layout = full(given, Backing(form="one-chord", rounds=2))
    for one, spans in zip(layout.rounds, layout.spans, strict=True):
        assert one.start_seconds - spans[0].start_seconds == pytest.approx(60 / 96)


@pytest.mark.parametrize(
    ("turns", "played"),
    [(Turns.TOGETHER, [True] * 4), (Turns.CALL, [True, False, True, False]), (Turns.YOURS, [False] * 4)],
)
def test_turns_say_who_plays_which_round(turns: Turns, played: list[bool]) -> None:
    layout = full(lesson(), Backing(rounds=4, turns=turns))
    assert [one.played for one in layout.rounds] == played
    assert len(layout.spans) == sum(played)
    rounds_heard = {tone.start_seconds > one.start_seconds - 0.1 for tone in layout.tones for one in layout.rounds}
    assert bool(rounds_heard) == any(played)


def test_players_are_left_out_as_asked() -> None:
    assert {part.name for part in full(lesson()).parts} == {"drums", "bass", "guitar"}
    assert {part.name for part in full(lesson(), Backing(chords="piano")).parts} == {"drums", "bass", "piano"}
    without = Backing(chords="both", without=frozenset({"drums"}))
    assert {part.name for part in full(lesson(), without).parts} == {"bass", "guitar", "piano"}


def test_a_click_can_go_on_under_the_band() -> None:
    layout = full(lesson(), Backing(form="one-chord", rounds=1, click_through=True))
    assert len(layout.clicks) == 4 + 8
    assert [click.first for click in layout.clicks] == [True, False, False, False] * 3


def test_triplets_in_the_phrase_do_not_straighten_the_band() -> None:
    steady = Backing(groove="shuffle", form="one-chord", looseness=0.0)
    layout = full(lesson("2d:1/3 3d:1/3 4b:1/3 2d:3 3d:4"), steady)
    hats = sorted({n.start_seconds for p in layout.parts if p.name == "drums" for n in p.notes if n.midi == 42})
    assert hats[1] - hats[0] == pytest.approx(2 / 3 * 60 / 96)
    assert hats[1] == pytest.approx(layout.spans[0][2].start_seconds)


def test_twelve_eight_is_a_slow_blues() -> None:
    given = lesson("2d:3/2 3d:3/2 4b:3/2 4d:3/2", metres=(Metre(Fraction(0), 12, 8),), swing=Fraction(1), bpm=90.0)
    layout = full(given, Backing(form="twelve-bar", rounds=1, looseness=0.0))
    assert layout.groove.name == "slow"
    assert layout.rounds[0].start_seconds == pytest.approx(0.15 + 4.0)
    hats = sorted({n.start_seconds for p in layout.parts if p.name == "drums" for n in p.notes if n.midi == 42})
    assert np.diff(hats[:4]) == pytest.approx([1 / 3] * 3)


def test_quarters_alone_may_be_shuffled_but_straight_eighths_not() -> None:
    quarters = lesson("2d:1 3d:1 4b:1 4d:1", swing=Fraction(1))
    layout = full(quarters, Backing(groove="shuffle"))
    assert [span.start_seconds for span in layout.spans[0]] == pytest.approx(
        [layout.rounds[0].zero_seconds + beat * 60 / 96 for beat in range(4)]
    )
    with pytest.raises(SoundError, match="the groove 'shuffle' swings, and the phrase has straight eighths"):
        full(lesson(swing=Fraction(1)), Backing(groove="shuffle"))
    with pytest.raises(SoundError, match="the groove 'straight' is straight, and the phrase swings"):
        full(lesson(), Backing(groove="straight"))


@pytest.mark.parametrize("metre", [(3, 4), (6, 8), (5, 4)])
def test_a_metre_the_band_does_not_play_is_told(metre: tuple[int, int]) -> None:
    given = lesson("2d:3 3d:3", metres=(Metre(Fraction(0), *metre),), swing=Fraction(1))
    with pytest.raises(SoundError, match=f"not in {metre[0]}/{metre[1]}"):
        full(given)


def test_a_change_of_metre_is_told() -> None:
    given = lesson("2d:4 3d:6", metres=(Metre(Fraction(0), 4, 4), Metre(Fraction(4), 12, 8)))
    with pytest.raises(SoundError, match="keeps one metre"):
        full(given)


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({"rounds": 0}, "0 rounds: 1 to 24"),
        ({"chords": "organ"}, "chords on 'organ'"),
        ({"without": frozenset({"flute"})}, "there is no player 'flute'"),
        ({"seed": -1}, "the seed -1: 0 to 999,999"),
        ({"looseness": 2.5}, "a looseness of 2.5: 0 to 2"),
        ({"looseness": float("nan")}, "a looseness of nan: 0 to 2"),
        ({"intro": 13}, "an intro of 13 bars: 0 to 12"),
    ],
)
def test_what_a_band_cannot_do_is_told(fields: dict[str, object], told: str) -> None:
    with pytest.raises(SoundError, match=told):
        Backing(**fields)


def test_an_unknown_form_is_told() -> None:
    with pytest.raises(SettingsError, match="there is no form named 'sonata'"):
        full(lesson(), Backing(form="sonata"))


def test_tempo_changes_come_back_each_round() -> None:
    given = lesson("2d:4 3d:4", tempos=(Tempo(Fraction(0), 60.0), Tempo(Fraction(4), 120.0)))
    layout = full(given, Backing(form="one-chord", rounds=2))
    assert layout.rounds[1].start_seconds - layout.rounds[0].start_seconds == pytest.approx(6.0)
    assert [spans[1].start_seconds - spans[0].start_seconds for spans in layout.spans] == pytest.approx([4.0, 4.0])


def test_an_empty_lesson_has_a_band_all_the_same() -> None:
    layout = full(lesson(""), Backing(rounds=1))
    assert bars_of(lesson("").route.phrase) == 1
    assert layout.tones == ()
    assert layout.parts


def test_it_sounds_with_any_bank(tmp_path) -> None:
    bank = write_bank(tmp_path, tiny_bank([{58: 69, 54: 1, 53: 0}], [sine(440.0)], program=33))
    given = lesson("2d:4", bpm=240.0)
    sound = play_with_band(given, given.ladder[-1], Backing(form="one-chord", rounds=1), bank=bank)
    layout = full(given, Backing(form="one-chord", rounds=1))
    assert sound.duration_seconds == pytest.approx(layout.seconds, abs=1e-4)
    assert 0.05 < sound.peak < 0.9


def test_what_still_rings_is_faded_out_at_the_end(tmp_path) -> None:
    thirty_seconds = {38: 6000}  # release of the volume envelope, timecents (SoundFont 2.04, 8.1.3)
    bank = write_bank(tmp_path, tiny_bank([{58: 69, 54: 1, 53: 0, **thirty_seconds}], [sine(440.0)], program=33))
    given = lesson("2d:4", bpm=240.0)
    layout = full(given, Backing(form="one-chord", rounds=1))
    gains = {part.name: 1.0 for part in layout.parts}
    whole = BackingPiece(layout, (), layout.seconds, 22_050, bank, gains=gains)
    level = np.abs(mixed_backing(whole).array).max(axis=1)
    before, last = level[-round(1.5 * 22_050) : -round(1.25 * 22_050)].max(), level[-round(0.05 * 22_050) :].max()
    assert before > 0.1 * level.max()
    assert last < 0.01 * before
    end = BackingPiece(layout, (), 1.0, 22_050, bank, layout.seconds - 1.0, gains)
    assert np.abs(mixed_backing(end).array).max(axis=1)[-1000:] == pytest.approx(level[-1000:], abs=0.002)


# ---------------------------------------------------------------------------------------------------- the intro


def test_the_band_plays_an_intro_on_the_form_s_last_chords_and_a_bell_counts_the_first_round_in() -> None:
    bar, beat = 4 * 60 / 96, 60 / 96
    plain = full(lesson(), Backing(form="twelve-bar", looseness=0.0))
    layout = full(lesson(), Backing(form="twelve-bar", looseness=0.0, intro=4))
    moved = [one.start_seconds - other.start_seconds for one, other in zip(layout.rounds, plain.rounds, strict=True)]
    assert moved == pytest.approx([4 * bar] * 2)
    assert layout.seconds == pytest.approx(plain.seconds + 4 * bar)
    assert layout.clicks == plain.clicks
    start = layout.rounds[0].start_seconds - 4 * bar
    (bass,) = [part for part in layout.parts if part.name == "bass"]
    roots = [
        note.midi % 12 for at in range(4) for note in bass.notes if abs(note.start_seconds - start - at * bar) < 0.01
    ]
    assert roots == [11, 9, 4, 11]  # V IV I V in E
    assert [one.seconds for one in layout.cues] == pytest.approx(
        [layout.rounds[0].start_seconds - back * beat for back in (4, 3, 2, 1)]
    )


@pytest.mark.parametrize("pickup", [Fraction(0), Fraction(1)])
def test_the_count_in_leads_into_the_intro_without_a_gap(pickup: Fraction) -> None:
    given = lesson("2d:1 3d:3 4b:4", pickup=pickup, swing=Fraction(1))
    layout = full(given, Backing(form="one-chord", groove="straight", looseness=0.0, intro=2))
    beat = 60 / 96
    begins = min(note.start_seconds for part in layout.parts for note in part.notes)
    assert [one.seconds for one in layout.clicks] == pytest.approx([begins - back * beat for back in (4, 3, 2, 1)])
    assert layout.rounds[0].start_seconds - begins == pytest.approx(8 * beat)
    through = full(given, Backing(form="one-chord", groove="straight", intro=2, click_through=True))
    times = [one.seconds for one in through.clicks]
    assert np.diff(times) == pytest.approx([beat] * (len(times) - 1))


# ----------------------------------------------------------------------------------------------------- the bell


@pytest.mark.parametrize(
    ("turns", "before"),
    [(Turns.CALL, [1, 3]), (Turns.TOGETHER, []), (Turns.YOURS, [])],
)
def test_a_bell_counts_the_student_in_a_bar_before(turns: Turns, before: list[int]) -> None:
    layout = full(lesson(), Backing(form="one-chord", rounds=4, turns=turns))
    beat = 60 / 96
    assert [one.first for one in layout.cues] == [True, False, False, False] * len(before)
    wanted = [layout.rounds[turn].start_seconds - back * beat for turn in before for back in (4, 3, 2, 1)]
    assert [one.seconds for one in layout.cues] == pytest.approx(wanted)


@pytest.mark.parametrize(
    ("more", "beats"),
    [({"pickup": Fraction(1)}, 3), ({"pickup": Fraction(3)}, 5), ({"metres": (Metre(Fraction(0), 2, 2),)}, 2)],
)
def test_as_many_beats_are_counted_as_before_the_first_round(more: dict[str, object], beats: int) -> None:
    given = lesson("2d 3d' 4b 4d' 4d:1 r:1 5d 4d 4b 3d' 2d:1 r:1", **{"swing": Fraction(1), **more})
    layout = full(given, Backing(form="one-chord", turns=Turns.CALL, groove="straight"))
    opening = [one for one in layout.clicks if one.seconds < layout.rounds[0].zero_seconds - 1e-6]
    assert len(layout.cues) == len(opening) == beats
    assert [one.first for one in layout.cues] == [one.first for one in opening]
    apart = layout.rounds[1].zero_seconds - layout.rounds[0].zero_seconds
    assert [one.seconds for one in layout.cues] == pytest.approx([one.seconds + apart for one in opening])


def test_the_bell_is_heard_and_nothing_else_changes() -> None:
    everybody = frozenset({"drums", "bass", "guitar", "piano"})
    layout = full(lesson(), Backing(form="one-chord", turns=Turns.CALL, without=everybody, count_in_bars=0))
    rate = 11_025

    def level(cues: tuple[Click, ...]) -> np.ndarray:
        tracks = backing_tracks(BackingPiece(replace(layout, cues=cues), (), layout.seconds, rate, None))
        return np.abs(sum(track.sound for track in tracks))

    assert level(()).max() == 0.0
    heard = level(layout.cues)
    for cue in layout.cues:
        at = round(cue.seconds * rate)
        assert heard[max(0, at - 200) : at - 1].max() < 0.02
        assert heard[at : at + 300].max() > 0.15
    assert heard[: round(layout.cues[0].seconds * rate) - 1].max() == 0.0

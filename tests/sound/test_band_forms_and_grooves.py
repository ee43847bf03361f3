"""Forms and grooves as data: what ships holds, what is wrong is told by file, field and value."""

from __future__ import annotations

from functools import cache

import pytest

from reedpath.data import shipped_text
from reedpath.errors import SettingsError
from reedpath.harmony import Chord, form_names, load_form, parse_chord, parse_form
from reedpath.pitch import Key
from reedpath.sound import groove_names, load_groove, parse_groove
from reedpath.sound.band import BandFeel
from reedpath.sound.band.feel import PlayerFeel, load_feel, parse_feel
from reedpath.sound.band.playing import BandNote, BandPart, play_band

E, A_MINOR = Key(4), Key(9, "minor")


def straight_clock(bar: int, beat: float, steps: int) -> float:
    """Two seconds a bar, nothing swung."""
    return 2.0 * bar + 0.5 * beat


def parts(
    form: str = "twelve-bar", groove: str = "straight", key: Key = E, *, rounds: int = 1
) -> dict[str, BandPart]:
    chosen = load_form(form)
    bars = len(chosen.bars)
    found = play_band(chosen, load_groove(groove), key, straight_clock, bars=bars * rounds, round_bars=bars)
    return {part.name: part for part in found}


@pytest.mark.parametrize(
    ("text", "root", "steps"),
    [
        ("I7", 4, (0, 4, 7, 10)),
        ("IV7", 9, (0, 4, 7, 10)),
        ("V9", 11, (0, 4, 7, 10, 14)),
        ("bVI7", 0, (0, 4, 7, 10)),
        ("IIm7", 6, (0, 3, 7, 10)),
        ("I", 4, (0, 4, 7)),
        ("IV6", 9, (0, 4, 7, 9)),
    ],
)
def test_chords_are_read_in_a_key(text: str, root: int, steps: tuple[int, ...]) -> None:
    assert parse_chord(text, E) == Chord(root, steps)


@pytest.mark.parametrize("text", ["", "H7", "i7", "VIII", "I7b9", "7"])
def test_other_names_are_no_chords(text: str) -> None:
    with pytest.raises(SettingsError, match="there is no chord named"):
        parse_chord(text, E)


def test_the_forms_asked_for_ship_and_have_their_lengths() -> None:
    lengths = {name: len(load_form(name).bars) for name in form_names()}
    assert lengths == {
        "twelve-bar": 12,
        "quick-change": 12,
        "minor-twelve-bar": 12,
        "eight-bar": 8,
        "one-chord": 2,
    }


def test_a_quick_change_goes_to_the_fourth_in_its_second_bar() -> None:
    roots = [load_form(name).chords_of_bar(1, E)[0].root for name in ("twelve-bar", "quick-change")]
    assert roots == [4, 9]


def test_the_last_round_has_the_ending() -> None:
    form = load_form("twelve-bar")
    assert form.chords_of_bar(11, E)[0].root == 11
    assert form.chords_of_bar(11, E, last_round=True)[0].root == 4
    assert form.chords_of_bar(23, E)[0].root == 11


def test_a_one_chord_form_follows_the_mode() -> None:
    form = load_form("one-chord")
    assert form.chords_of_bar(0, E)[0].third == 4
    assert form.chords_of_bar(0, A_MINOR)[0].third == 3


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("bars = []", r"mine.toml, 'bars': this is empty"),
        ('bars = ["I7 IV7 V7"]', r"mine.toml, bar 1, 'bars': 'I7 IV7 V7': one, two or four"),
        ('bars = ["I7", "X7"]', r"mine.toml, bar 2, 'bars': there is no chord named 'X7'"),
        ('bars = ["I7"]\nending = ["I7", "I7"]', "no longer than the form itself"),
        ('bars = ["I7"]\nmode = "lydian"', "mine.toml, 'mode': .*lydian"),
        ('bars = ["I7"]\nturns = [4, 4]', "mine.toml, 'turns': the bars that lead into the next line"),
        ('bars = ["I7"]\nturns = [0]', r"mine.toml, 'turns\[0\]': 0 is too low"),
        ('bars = ["I7"]\ntempo = 3', "mine.toml, 'tempo': there is no such field"),
        ("bars = 12", "mine.toml, 'bars': 12 is not a list"),
        ("bars = [", "mine.toml: not TOML"),
    ],
)
def test_a_wrong_form_is_told(text: str, told: str) -> None:
    with pytest.raises(SettingsError, match=told):
        parse_form(text, name="mine")


def test_unknown_names_are_told_with_the_known_ones() -> None:
    with pytest.raises(SettingsError, match="there is no form named 'sonata'") as error:
        load_form("sonata")
    assert "twelve-bar" in (error.value.hint or "")
    with pytest.raises(SettingsError, match="there is no groove named 'waltz'"):
        load_groove("waltz")


ROW_GROOVE = """
bpm = [60, 120]
[drums]
loudness = -28
rows = [{ note = 36, bars = ["X . . . x . . ."] }]
[bass]
program = 33
loudness = -26
lowest = 28
bars = ["1! - . 5 . . . <"]
"""


def test_a_row_cuts_four_beats_into_its_words() -> None:
    (row,) = parse_groove(ROW_GROOVE, name="row").players["bass"].bars
    assert [(one.place, one.length, one.degrees, one.lead) for one in row] == [
        (0.0, 1.0, (1,), 0),
        (1.5, 0.5, (5,), 0),
        (3.5, 0.5, (), -1),
    ]
    (drum,) = parse_groove(ROW_GROOVE, name="row").drums
    assert [(one.place, one.length) for one in drum.bars[0]] == [(0.0, 0.5), (2.0, 0.5)]


def test_what_is_struck_is_louder() -> None:
    groove = parse_groove(ROW_GROOVE.replace("X . . . x", "o . . . x").replace("x . . .", "x . X ."), name="row")
    plain, struck = groove.players["bass"].bars[0][1], groove.players["bass"].bars[0][0]
    assert 0 < plain.velocity < struck.velocity <= 127
    velocities = [one.velocity for one in groove.drums[0].bars[0]]
    assert velocities == sorted(set(velocities))
    assert 0 < velocities[0] < velocities[-1] <= 127


def test_a_player_has_the_program_level_and_notes_of_its_row() -> None:
    groove = parse_groove(ROW_GROOVE, name="row")
    assert (groove.title, groove.swing, groove.slowest_bpm, groove.fastest_bpm) == ("row", "either", 60, 120)
    form = parse_form('bars = ["I7"]', name="row")
    drums, bass = play_band(form, groove, Key(0), lambda bar, beat, _: 4.0 * bar + beat, bars=1, round_bars=1)
    assert (drums.name, drums.drums, drums.loudness) == ("drums", True, -28)
    assert (bass.name, bass.drums, bass.program, bass.loudness) == ("bass", False, 33, -26)
    # the root C is the lowest from E (28) up; the fifth lies over it, the leading note under the C to come
    assert [(note.start_seconds, note.midi) for note in bass.notes] == [(0.0, 36), (1.5, 43), (3.5, 35), (4.0, 36)]
    (step,) = (one for one in groove.players["bass"].bars[0] if one.degrees == (5,))
    assert bass.notes[1].velocity == step.velocity
    # a little shorter than its step, so that notes of one pitch are heard apart
    assert 0.8 * step.length < bass.notes[1].seconds < step.length


def test_a_leading_note_stands_a_semitone_under_the_next_bars_root() -> None:
    form = parse_form('bars = ["I7", "IV7", "V7", "bVI7"]', name="row")
    groove = parse_groove(ROW_GROOVE, name="row")
    band = play_band(form, groove, Key(0), lambda bar, beat, _: 4.0 * bar + beat, bars=4, round_bars=4)
    bass = next(part for part in band if part.name == "bass")
    leads = [note.midi for note in bass.notes if note.start_seconds % 4 == 3.5]
    # to F, G, A flat, and at the end home to C, each the lowest on the instrument from E (28) up
    assert leads == [29 - 1, 31 - 1, 32 - 1, 36 - 1]


def test_grooves_cover_slow_to_fast_swung_and_straight() -> None:
    grooves = [load_groove(name) for name in groove_names()]
    for swing, rejected in (("swung", "unwanted"), ("straight", "needed")):
        kept = [groove for groove in grooves if groove.swing != rejected]
        for bpm in (45, 60, 80, 100, 120, 140, 170):
            assert any(groove.slowest_bpm <= bpm <= groove.fastest_bpm for groove in kept), (swing, bpm)


@pytest.mark.parametrize("name", groove_names())
def test_every_groove_has_all_players(name: str) -> None:
    groove = load_groove(name)
    assert set(groove.players) == {"bass", "guitar", "piano"}
    assert {row.note for row in groove.drums} >= {36, 38} or {row.note for row in groove.drums} >= {36, 37}


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('swing = "needed"', 'swing = "often"', "'swing': .*often"),
        ("bpm = [76, 150]", "bpm = [150, 76]", r"'bpm': 150 to 76"),
        ("X o x o X o x o", "X o x o X o x", "has 7 steps: 8, 12 or 16"),
        ("X o x o X o x o", "X o x o X o x q", r"shuffle.toml, 'drums.rows\[0\].bars\[0\]': 'q' is not a stroke"),
        ("1! . 1 . 5 . 5 .", "1! . 1 . 5 . 0 .", r"'bass.bars\[0\]': '0' is not a step"),
        ("program = 33", "program = 133", r"'bass.program': 133 is too high: 127 at most"),
        ("[drums]", "[pots]", "'pots': there is no such field"),
        ('"x! . . . . . . x!"', '"x! . . . ?"', r"'guitar.ending\[0\]': 'x! . . . \?' has 5 steps"),
        ("1+5 . x! x", "1+5 . x? x!?!", r"'guitar.answer\[0\]': 'x!\?!' is not a step"),
        ('[". . X . x o X x"', '[". . X . x o X y"', r"'drums.fill\[0\].bars\[0\]': 'y' is not a stroke"),
        ('swing = "needed"', 'auto = "always"', "'auto': .*always"),
        ("note = 42", 'note = "hat"', r"'drums.rows\[0\].note': .hat. is not a whole number"),
    ],
)
def test_a_wrong_groove_is_told(old: str, new: str, told: str) -> None:
    text = shipped_text("reedpath.sound", "band/grooves/shuffle.toml")
    assert old in text
    with pytest.raises(SettingsError, match=told):
        parse_groove(text.replace(old, new, 1), name="shuffle")


def test_a_held_step_is_longer() -> None:
    groove = load_groove("soft")
    first = groove.players["guitar"].bars[0][0]
    assert (first.place, first.length) == (0.0, 1.0)


def test_the_bass_begins_each_bar_on_the_root() -> None:
    bass = parts()["bass"]
    first = {int(note.start_seconds // 2): note.midi % 12 for note in reversed(bass.notes)}
    assert [first[bar] for bar in range(12)] == [4, 4, 4, 4, 9, 9, 4, 4, 11, 9, 4, 4]


def test_a_leading_note_lies_beside_the_next_root() -> None:
    bass = [note.midi for note in parts()["bass"].notes]
    starts = [note.start_seconds for note in parts()["bass"].notes]
    at = starts.index(2 * 3 + 1.75)  # the last eighth of the fourth bar, before the fourth
    assert bass[at] == bass[at + 1] - 1


def test_chords_lie_in_one_octave_and_are_the_forms() -> None:
    guitar = parts(groove="soft")["piano"]
    for note in guitar.notes:
        assert 55 <= note.midi <= 67
    bar_five = {note.midi % 12 for note in guitar.notes if 8.0 <= note.start_seconds < 10.0}
    assert bar_five == {(9 + step) % 12 for step in (4, 7, 10)}


def test_two_chords_share_their_bar() -> None:
    piano = parts("quick-change", "soft", rounds=2)["piano"]
    halves = [
        {note.midi % 12 for note in piano.notes if start <= note.start_seconds < start + 1.0}
        for start in (20.0, 21.0)
    ]
    assert halves[0] == {(4 + step) % 12 for step in (4, 7, 10)}
    assert halves[1] == {(9 + step) % 12 for step in (4, 7, 10)}


def test_the_last_bar_of_a_round_has_a_fill() -> None:
    snares = [note.start_seconds for note in parts(rounds=2)["drums"].notes if note.midi == 38]
    in_bar = [sum(2 * bar <= at < 2 * bar + 2 for at in snares) for bar in range(24)]
    assert in_bar[11] > in_bar[10]
    assert in_bar[23] > in_bar[22]
    assert in_bar[12] == in_bar[0]


def test_everybody_ends_on_the_tonic_together() -> None:
    found = parts()
    for part in found.values():
        assert max(note.start_seconds for note in part.notes) == 24.0
    assert [note.midi % 12 for note in found["bass"].notes if note.start_seconds == 24.0] == [4]


# ------------------------------------------------------------------------------------------------ with freedom


@cache
def free(groove: str = "shuffle", form: str = "twelve-bar", **more: object) -> dict[str, BandPart]:
    """Three rounds, the phrase in the first two bars of each."""
    chosen = load_form(form)
    bars = len(chosen.bars)
    lead = tuple((turn * 2.0 * bars, turn * 2.0 * bars + 4.0) for turn in range(3))
    feel = BandFeel(**{"lead": lead, "looseness": 0.0, **more})
    band = play_band(chosen, load_groove(groove), E, straight_clock, bars=3 * bars, round_bars=bars, feel=feel)
    return {part.name: part for part in band}


def in_bar(part: BandPart, bar: int, *notes: int) -> list[BandNote]:
    early = 0.05  # what wanders may begin before its bar
    kept = [note for note in part.notes if 2.0 * bar - early <= note.start_seconds < 2.0 * bar + 2.0 - early]
    return [note for note in kept if not notes or note.midi in notes]


def test_the_same_seed_gives_the_same_notes_and_another_one_others() -> None:
    again = free.__wrapped__(looseness=1.0)
    assert again == free(looseness=1.0)
    assert free(looseness=1.0, seed=3) != again


@pytest.mark.parametrize("seed", range(20))
def test_players_stay_within_19_ms_of_one_another(seed: int) -> None:
    """Asynchronies under 19 ms were preferred: J. New Music Res. 46(4), 2017."""
    players = load_feel().players
    feels = [PlayerFeel(BandFeel(seed=seed), name, 96, players) for name in players]
    late = [[feel.late(beat / 3.0) for beat in range(288)] for feel in feels]
    apart = [max(moment) - min(moment) for moment in zip(*late, strict=True)]
    assert 0.010 < max(apart) <= 0.019


@pytest.mark.parametrize("groove", groove_names())
def test_a_fill_leads_out_of_each_line_and_the_biggest_out_of_the_round(groove: str) -> None:
    drums = free(groove)["drums"]
    usual = {tuple((n.midi, n.start_seconds - 2 * bar) for n in in_bar(drums, bar)) for bar in (1, 2, 5, 6, 9, 10)}
    for bar in (3, 7, 11):
        played = tuple((n.midi, n.start_seconds - 2 * bar) for n in in_bar(drums, bar))
        assert played not in usual
        late = [
            note for note in in_bar(drums, bar) if note.start_seconds >= 2 * bar + 1.0 and note.midi in (37, 38, 45)
        ]
        plain = [note for note in in_bar(drums, 1) if note.start_seconds >= 3.0 and note.midi in (37, 38, 45)]
        assert len(late) > len(plain)
    assert any(note.midi == 49 for note in in_bar(drums, 12))


@pytest.mark.parametrize("groove", groove_names())
def test_later_rounds_grow(groove: str) -> None:
    found = free(groove)
    rounds = [
        [note for bar in range(12 * turn, 12 * turn + 11) for note in in_bar(found["drums"], bar)]
        for turn in range(3)
    ]
    force = [sum(note.velocity for note in one) / len(one) for one in rounds]
    weight = [sum(10 ** (note.velocity / 63.5) for note in one) for one in rounds]
    assert weight == sorted(weight)
    assert max(force[1], force[2]) > force[0]
    for name in ("guitar", "piano", "bass"):
        # the fifth and sixth bar of each round, where the phrase is over and answered
        shapes = [
            [
                (round(n.start_seconds - 2 * bar, 6), n.midi)
                for bar in (first, first + 1)
                for n in in_bar(found[name], bar)
            ]
            for first in (4, 16, 28)
        ]
        assert shapes[0] != shapes[1] != shapes[2], name


def test_chords_leave_room_under_the_phrase_and_answer_it() -> None:
    for name in ("guitar", "piano"):
        part = free("shuffle")[name]
        under, answer, usual = (
            [round(start - 2.0 * bar, 6) for start in sorted({note.start_seconds for note in in_bar(part, bar)})]
            for bar in (0, 2, 4)
        )
        assert answer not in (under, usual)
        # a riff goes on under the phrase, chords are fewer there
        assert set(under) <= set(usual)
        assert name == "guitar" or len(under) < len(usual)
        assert name == "guitar" or len(under) < len(answer)


def test_the_last_bar_of_all_is_an_ending() -> None:
    found = free("shuffle")
    hats = [note.start_seconds for note in in_bar(found["drums"], 35, 42, 51)]
    assert len(hats) < len(in_bar(found["drums"], 23, 42, 51))
    assert {note.start_seconds - 70.0 for note in in_bar(found["guitar"], 35)} == {0.0, 1.75}


@pytest.mark.parametrize("field", ["together_ms = 5.0", "under_db = -1.2", "force_db = 1.6"])
def test_a_wrong_feel_is_told(field: str) -> None:
    text = shipped_text("reedpath.sound", "band/feel.toml")
    assert field in text
    with pytest.raises(SettingsError, match=r"feel.toml, '.*'"):
        parse_feel(text.replace(field, field.split(" = ")[0] + " = 99.0"))

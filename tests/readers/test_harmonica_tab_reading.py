"""Harmonica tab: notations, harps, lengths, and what is said of what cannot be read."""

from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.errors import ReadError
from reedpath.errors.english import in_english
from reedpath.harp import Alteration, Breath, Move, format_move, load_tuning, make_harp, midi_of, single_moves
from reedpath.phrase import Metre, Part, Phrase, Repeat, Tempo
from reedpath.pitch import Key
from reedpath.readers import find_reader, read_phrase
from support.examples import examples
from support.read_phrases import pitches, times

# C4 as the root of a C harp: the scale that every player knows, holes 4 to 7
SCALE = [72, 74, 76, 77, 79, 81, 83, 84]


def read(text: str, **options: str | int | bool) -> Phrase:
    return read_phrase(text.encode(), format="harmonica-tab", options=options)


@pytest.mark.parametrize(
    "tab",
    [
        "4 -4 5 -5 6 -6 -7 7",
        "+4 -4 +5 -5 +6 -6 -7 +7",
        "＋4 −4 ＋5 −5 ＋6 −6 −7 ＋7",
        "4B 4D 5B 5D 6B 6D 7D 7B",
        "4b 4d 5b 5d 6b 6d 7d 7b",
        "4S 4A 5S 5A 6S 6A 7A 7S",
        "4B 4Z 5B 5Z 6B 6Z 7Z 7B",
        "↑4 ↓4 ↑5 ↓5 ↑6 ↓6 ↓7 ↑7",
        "4↑ 4↓ 5↑ 5↓ 6↑ 6↓ 7↓ 7↑",
        "4 (4) 5 (5) 6 (6) (7) 7",
        "4 ④ 5 ⑤ 6 ⑥ ⑦ 7",
        "4, -4, 5, -5; 6, -6, -7, 7",
        "4B4D5B5D 6B6D7D7B",
        "4 -4 5 -5 | 6 -6 -7 7 |",
        "4 -4 5 -5\n6 -6 -7 7",
        "4 -4 5 -5\ndo re mi fa\n6 -6 -7 7\nsol la ti do\n",
    ],
)
def test_one_scale_in_every_notation(tab):
    assert pitches(read(f"harp: C\n\n{tab}\n")) == SCALE
    assert find_reader(f"{tab}\n".encode()).name == "harmonica-tab"


@pytest.mark.parametrize(
    ("tab", "midi"),
    [
        ("-4'", 73),
        ("-4b", 73),
        ("-4’", 73),
        ("-3''", 69),
        ('-3"', 69),
        ("-3'''", 68),
        ("8'", 87),
        ("10''", 94),
        ("6o", 82),
        ("-7o", 85),
        ("4D'", 73),
        ("↓4'", 73),
    ],
)
def test_bends_and_overbends(tab, midi):
    assert pitches(read(f"harp: C\n\n{tab}\n"))[-1] == midi


def test_chords_and_splits():
    assert read("harp: C\n\n(1 2 3) 1/4 -(2 3)\n").events[0].midi == (60, 64, 67)
    assert read("harp: C\n\n(1 2 3) 1/4 -(2 3)\n").events[1].midi == (60, 72)
    assert read("harp: C\n\n(1 2 3) 1/4 -(2 3)\n").events[2].midi == (67, 71)


@pytest.mark.parametrize(
    ("harp", "first"),
    [
        ("A", 69),
        ("Bb", 70),
        ("Low F", 65),
        ("low F", 65),
        ("High G", 79),
        ("F low", 65),
        ("Low-F", 65),
        ("F (low)", 65),
        ("G high", 79),
        ("F# harp", 78),
        ("a", 69),
        ("H", 71),
        ("B", 71),
    ],
)
def test_the_harp_named_in_the_heading_or_by_option(harp, first):
    assert pitches(read(f"harp: {harp}\n\n4 -4 5 -5"))[0] == first
    assert pitches(read("harp: D\n\n4 -4 5 -5", harp=harp))[0] == first


def test_a_harp_that_is_not_named_is_taken_for_c_and_said():
    phrase = read("4 -4 5 -5")
    assert pitches(phrase)[0] == 72
    assert phrase.left_out[0].kind == "assumed-harp"


@pytest.mark.parametrize(
    ("heading", "options"),
    [
        ("tuning: harmonic minor", {}),
        ("tuning: harmonic-minor", {}),
        ("", {"tuning": "harmonic-minor"}),
        ("harp: C harmonic minor", {}),
        ("harp: C (harmonic minor)", {}),
    ],
)
def test_the_tuning(heading, options):
    assert pitches(read(f"{heading}\n\n4 -4 5 -5 6 -6 -7 7", **options)) == [72, 74, 75, 77, 79, 80, 83, 84]


def test_german_b_is_b_flat_and_is_said():
    german = read("Mundharmonika: B\n\n4B 4Z 5B 5Z\n")
    assert pitches(german)[0] == 70
    assert ("german-b", "line 1") in [(one.kind, in_english(one.place)) for one in german.left_out]
    assert pitches(read("harp: H\n\n4B 4Z 5B 5Z\n"))[0] == 71
    assert pitches(read("harp: B\n\n4B 4D 5B 5D\n"))[0] == 71
    assert pitches(read("harp: B\nnames: German\n\n4 -4 5 -5\n"))[0] == 70
    assert pitches(read("harp: B\nnames: English\n\n4B 4Z 5B 5Z\n"))[0] == 71
    assert pitches(read("harp: B\n\n4 -4 5 -5\n", german_names="yes"))[0] == 70
    assert pitches(read("harp: B\n\n4B 4Z 5B 5Z\n", german_names="no"))[0] == 71
    assert pitches(read("harp: Bb\n\n4B 4Z 5B 5Z\n"))[0] == 70


@pytest.mark.parametrize(
    ("heading", "key"),
    [
        ("Mundharmonika: B", "Bb"),
        ("harp: B\nTonart: F", "Bb"),
        ("harp: B\nkey: fis-Moll", "Bb"),
        ("harmonica: B\nkey: F# minor", "B"),
        ("harmonica: H", "B"),
        ("harmonica: Es", "Eb"),
        ("Mundharmonika: As", "Ab"),
        ("harp: Fis", "F#"),
        ("harp: Low Es", "Low Eb"),
    ],
)
def test_names_of_notes_in_german(heading, key):
    assert read(f"{heading}\n\n1 -1 4 -4\n").events[0].midi == midi_of(make_harp(key), Move((1,), Breath.BLOW))


def test_which_b_was_taken_is_said():
    def kinds(text):
        return [one.kind for one in read(f"{text}\n\n4 -4 5 -5\n").left_out if one.kind.endswith("-b")]

    assert kinds("harmonica: B") == ["english-b"]
    assert kinds("Mundharmonika: B") == ["german-b"]
    assert kinds("harp: B\nnames: English") == []
    assert kinds("harp: Bb") == kinds("harp: H") == []


@pytest.mark.parametrize(
    ("first", "later"),
    [
        ("metre: 4/4", "metre: 3/4"),
        ("tuning: standard", "tuning: natural-minor-second"),
        ("harmonica: C", "harp: D"),
        ("notation: sign", "notation: arrow"),
        ("title: One", "Titre : Deux"),
    ],
)
def test_a_line_whose_field_was_said_otherwise_before_is_told(first, later):
    def told(line):
        phrase = read(f"{first}\nharp: C\n\n4 -4 5 -5 |\n\n{line}\n\n5 -5 6 -6 |\n")
        return [(one.place.line, one.values) for one in phrase.left_out if one.kind == "said-before"]

    assert told(later) == [(6, (("line", later),))]
    assert told(first.upper()) == []


def test_a_key_that_changes_in_the_heading_of_a_counted_tab_is_told():
    text = "Low Road\n========\nkey: G\nkey: A\n\n      1   2   3   4\n  1 | +4  -4  +5  -5  |\n"
    phrase = read(text)
    assert (phrase.title, phrase.key) == ("Low Road", Key(7))
    assert [one.place.line for one in phrase.left_out if one.kind == "key-changes"] == [4]


def test_german_b_in_the_key_of_the_music():
    assert read("harp: C\nkey: B\n\n4B 4Z 5B 5Z\n").key == Key(10)
    assert read("harp: C\nkey: H\n\n4B 4Z 5B 5Z\n").key == Key(11)
    assert read("harp: C\nkey: B\n\n4B 4D 5B 5D\n").key == Key(11)
    assert read("harp: C\nkey: Bb\n\n4B 4Z 5B 5Z\n").key == Key(10)
    assert read("harp: C\nTonart: B\n\n4 -4 5 -5\n").key == Key(10)
    assert read("harp: C\nTonart: B-Dur\n\n4 -4 5 -5\n").key == Key(10)
    assert read("harp: C\nkey: b-Moll\n\n4 -4 5 -5\n").key == Key(10, "minor")
    assert read("harp: C\nkey: H\n\n4 -4 5 -5\n").key == Key(11)


# -- lengths -------------------------------------------------------------------------------------------


def test_lengths_after_a_colon_hold_until_the_next():
    phrase = read("harp: C\n\n4:q -4:e 5 -5:q. r:e | 6:h =:q -6~:et -6 6>")
    assert times(phrase) == [
        (0, 1), (1, F(1, 2)), (F(3, 2), F(1, 2)), (2, F(3, 2)), (4, 3), (7, F(1, 3)), (F(22, 3), F(1, 3)),
        (F(23, 3), F(1, 3)),
    ]  # fmt: skip
    assert [event.ornaments.vibrato for event in phrase.events][-3:] == [True, False, False]
    assert phrase.events[-1].ornaments.accent
    assert phrase.left_out == ()


def test_lengths_on_the_line_over_the_notes():
    by_order = "harp: C\n\nq e e h\n4 -4 5 -5\n"
    assert times(read(by_order)) == [(0, 1), (1, F(1, 2)), (F(3, 2), F(1, 2)), (2, 2)]
    by_column = "harp: C\n\nq    e   e   q   q\n4    -4  5       -5\n"
    assert times(read(by_column)) == [(0, 1), (1, F(1, 2)), (F(3, 2), F(1, 2)), (3, 1)]
    assert times(read("harp: C\n\nq q q q\n4 = r -4\n")) == [(0, 2), (3, 1)]
    with pytest.raises(ReadError, match="line 4, column 6: no length stands over this note"):
        read("harp: C\n\nq\n4    -4   5\n")


def test_a_hold_ties_over_the_bar_line():
    phrase = read("harp: C\ntime: 2/4\n\n4:q -4:q | =:q 5:q")
    assert times(phrase) == [(0, 1), (1, 2), (3, 1)]


def test_without_lengths_a_bar_is_shared():
    assert times(read("harp: C\n\n4 -4 5 -5 | 6 -6 | 4 5 6 | 4 4 4 4 4 4 4 4 |")) == [
        *((F(k), 1) for k in range(4)),
        *((4, 2), (6, 2)),
        *((8, 1), (9, 1), (10, 2)),
        *((12 + F(k, 2), F(1, 2)) for k in range(8)),
    ]
    twelve = read("harp: C\n\n" + "4 5 6 " * 4 + "| 4")
    assert times(twelve)[:2] == [(0, F(1, 3)), (F(1, 3), F(1, 3))]
    assert twelve.left_out[0].kind == "lengths-shared-out"
    assert times(read("harp: C\ntime: 3/4\n\n4 -4 5 | 6 |")) == [(0, 1), (1, 1), (2, 1), (3, 3)]


def test_without_lengths_and_bars_notes_are_quarters():
    phrase = read("harp: C\n\n4 -4 5 -5 r 6\n-6")
    assert times(phrase) == [(0, 1), (1, 1), (2, 1), (3, 1), (5, 1), (6, 1)]
    assert phrase.metres == (Metre(F(0), 4, 4),)


def test_a_pickup_by_lengths_or_by_heading():
    assert read("harp: C\ntime: 4/4\n\n4:q | 5:q 5 5 5 | 6:w").pickup == 1
    shared = read("harp: C\npickup: 1\n\n4 | 5 5 5 5 | 6")
    assert (shared.pickup, times(shared)[0]) == (1, (0, 1))


def test_repeats_parts_and_heading():
    text = (
        "title: An invented line\nharp: A\nkey: E\ntempo: 96\nswing: 2:1\n\n"
        "[Call]\n|: -2 -3' 4 -4 :| x3\nAnswer: -4 4 -3' -2 |\n# a comment 1 2 3\n"
    )
    phrase = read(text)
    assert phrase.title == "An invented line"
    assert (phrase.key, phrase.swing, phrase.tempos) == (Key(4), 2, (Tempo(F(0), 96.0),))
    assert phrase.parts == (Part("Call", F(0), F(4)), Part("Answer", F(4), F(8)))
    assert phrase.repeats == (Repeat(F(0), F(4), 3),)
    assert pitches(phrase) == [64, 67, 69, 71, 71, 69, 67, 64]


def test_shakes_keep_their_first_hole_and_are_said():
    for tab in ("-4~5", "-45tr"):
        phrase = read(f"harp: C\n\n4 -4 {tab} 5\n")
        assert pitches(phrase) == [72, 74, 74, 76]
        assert phrase.left_out[0].kind == "shakes-of-holes"


def test_every_event_knows_its_place():
    assert [in_english(event.place) for event in read("harp: C\n\n4  -4\n").events] == [
        "line 3, column 1",
        "line 3, column 4",
    ]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("4 -4 -5'", r"line 3, column 6, hole 5: no draw bent 1 semitone here, only blow, draw, .*overblow"),
        ("4 -4 4'", r"line 3, column 6, hole 4: no blow bent 1 semitone here, only blow, draw, draw bent 1"),
        ("4 -4 -9'", "line 3, column 6, hole 9: no draw bent"),
        ("4 -4 11B", "line 3, column 6, hole 11: 11 is neither a hole"),
        ("4 -4 5 -5z", "line 3, column 8: '-5z' is not a move"),
        ("4 -4 5x -5", "line 3, column 6: '5x' is not a move"),
        ("4 -4 | 5 -5 :| x99", "line 3, column 16: repeated 99 times"),
        ("only words here", "no harmonica tab in the source"),
        ("in 1999 we played 2 tunes", "no harmonica tab in the source"),
    ],
)
def test_what_cannot_be_read_is_said_with_line_and_column(text, message):
    with pytest.raises(ReadError, match=message):
        read(f"harp: C\n\n{text}\n")


@pytest.mark.parametrize(
    ("heading", "options", "message"),
    [
        ("harp: Q", {}, "line 1: there is no harp named 'Q'"),
        ("harp: C purple", {}, "line 1: there is no tuning named 'purple'"),
        ("tuning: purple", {}, "line 1: there is no tuning named 'purple'"),
        ("notation: purple", {}, "line 1: there is no notation named 'purple'"),
        ("", {"harp": "Q"}, "^there is no harp named 'Q'"),
        ("", {"german_names": "maybe"}, "german_names is yes or no"),
    ],
)
def test_a_heading_or_option_that_means_nothing(heading, options, message):
    with pytest.raises(ReadError, match=message):
        read(f"{heading}\n\n4 -4 5 -5\n", **options)


def test_a_bar_that_is_not_full_is_said():
    with pytest.raises(
        ReadError, match=r"line 4, column 10: the lengths of bar 2 make 3 beats, but a bar of 4/4 has 4"
    ):
        read("harp: C\ntime: 4/4\n\n4:w    | 4:h. | 4:w |\n".replace("4:w    |", "4:w    |"))


def test_a_named_notation_decides():
    assert pitches(read("harp: C\n\n4 5 6 +4\n", notation="sign-plain-draw"))[:3] == [74, 77, 81]
    assert pitches(read("harp: C\nnotation: letters\n\n4B 4D 5B 5D\n")) == [72, 74, 76, 77]
    assert pitches(read("harp: C\n\n↑4 ↓4\n", notation="arrow-reversed")) == [74, 72]


HARP = make_harp("A")
MOVES = [move for move in single_moves(load_tuning("standard")) if not move.is_dip]


@examples(80)
@given(
    st.lists(st.sampled_from(MOVES), min_size=4, max_size=24),
    st.sampled_from(["sign", "arrow", "letters-en", "letters-fr", "letters-de", "bracket"]),
)
def test_what_is_written_in_a_notation_comes_back(moves, notation):
    tab = " ".join(format_move(move, notation) for move in moves)
    phrase = read(f"harp: A\nnames: English\n\n{tab}\n", notation=notation)
    assert [event.midi for event in phrase.events] == [midi_of(HARP, move) for move in moves]


@examples(60)
@given(
    st.lists(st.sampled_from(MOVES), min_size=8, max_size=24),
    st.sampled_from(["sign", "arrow", "letters-en", "letters-fr", "letters-de", "bracket"]),
)
def test_the_notation_is_told_by_its_looks(moves, notation):
    moves = [*moves, Move((4,), Breath.BLOW), Move((4,), Breath.DRAW), Move((4,), Breath.DRAW, Alteration.BEND, -1)]
    tab = " ".join(format_move(move, notation) for move in moves)
    phrase = read(f"harp: A\nnames: English\n\n{tab}\n")
    assert [event.midi for event in phrase.events] == [midi_of(HARP, move) for move in moves]


@pytest.mark.parametrize("words", ["x2", "(x2)", "2x", "(repeat)", "bis", "twice", "play 2 times", "2 times"])
def test_a_line_that_is_said_to_be_played_twice_is(words):
    assert pitches(read(f"harp: C\n\n4 -4 5 -5 {words}\n6 -6\n")) == pitches(
        read("harp: C\n\n4 -4 5 -5\n4 -4 5 -5\n6 -6\n")
    )
    barred = read(f"harp: C\n\n4 -4 | 5 -5 {words}\n6 -6\n")
    assert pitches(barred) == pitches(read("harp: C\n\n4 -4 | 5 -5 | 4 -4 | 5 -5 |\n6 -6\n"))
    assert "repeats-in-words" not in [one.kind for one in barred.left_out]


def test_repeat_signs_with_words_beside_them_are_played_once_more():
    assert read("harp: C\n\n|: 4 -4 5 -5 :| (repeat)\n").events == read("harp: C\n\n|: 4 -4 5 -5 :|\n").events


@pytest.mark.parametrize(
    "line", ["(repeat)", "x2", "[Verse x2]", "then repeat from the top", "play 1 to 4 3 times over"]
)
def test_a_repeat_in_words_that_is_not_clear_is_told(line):
    phrase = read(f"harp: C\n\n4 -4 5 -5\n{line}\n6 -6 7 -7\n")
    assert len(phrase.events) == 8
    (told,) = [one for one in phrase.left_out if one.kind == "repeats-in-words"]
    assert told.place.line == 4


def test_a_line_played_too_often_is_refused():
    with pytest.raises(ReadError, match="line 3: repeated 99 times; 1 to 64"):
        read("harp: C\n\n4 -4 5 -5 x99\n")


def test_a_note_is_held_over_more_than_one_bar():
    phrase = read_phrase(b"harp: C\nmetre: 2/4\n\n4:h | =:h | =:q 5:q\n", name="held.txt")
    assert [(one.onset, one.duration) for one in phrase.events] == [(0, 5), (5, 1)]

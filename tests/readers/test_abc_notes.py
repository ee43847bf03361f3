"""ABC notes: pitches, lengths, ties, chords, graces, tuplets and decorations, in tunes of our own."""

import pytest

from reedpath.errors import ReadError
from reedpath.errors.english import in_english
from reedpath.pitch import Key
from reedpath.readers import read_phrase
from support.read_phrases import left_out, names

HEADER = "X:1\nT:Own\nM:4/4\nL:1/8\nK:C\n"


def read(code: str, header: str = HEADER, **options):
    return read_phrase((header + code + "\n").encode(), format="abc", options=options)


def lengths(phrase) -> list[str]:
    return [str(event.duration) for event in phrase.events]


def onsets(phrase) -> list[str]:
    return [str(event.onset) for event in phrase.events]


def test_octaves_from_letters_commas_and_apostrophes():
    assert names(read("C, C c c' C'")) == "C3 C4 C5 C6 C5"


def test_the_key_signature_holds_unless_an_accidental_says_otherwise():
    assert names(read("F =F ^F _B F", "X:1\nM:5/8\nK:G\n")) == "F#4 F4 F#4 Bb4 F#4"


def test_an_accidental_lasts_to_the_bar_line():
    assert names(read("^F F f|F f")) == "F#4 F#4 F#5 F4 F5"


@pytest.mark.parametrize(
    ("spread", "expected"), [("not", "F#4 F4 F5"), ("octave", "F#4 F#4 F5"), ("pitch", "F#4 F#4 F#5")]
)
def test_accidentals_spread_as_the_directive_says(spread, expected):
    assert names(read(f"%%propagate-accidentals {spread}\n^F F f")) == expected


def test_a_tied_note_keeps_its_accidental_over_the_bar_line():
    phrase = read("z6 ^F2-|F2 F2")
    assert names(phrase) == "F#4 F4"
    assert lengths(phrase) == ["2", "1"]


def test_a_tie_to_another_pitch_joins_nothing():
    assert lengths(read("C2-D2-|D2")) == ["1", "2"]


def test_a_chord_is_struck_together_and_tied_as_one():
    phrase = read("[CEG]4-[CEG]4")
    assert names(phrase) == "C4+E4+G4"
    assert lengths(phrase) == ["4"]


def test_one_note_of_a_chord_may_be_tied_alone():
    phrase = read("[C-E]4 C4")
    assert sorted((names(phrase).split()[i], lengths(phrase)[i]) for i in range(2)) == [("C4", "4"), ("E4", "2")]


def test_a_unison_is_one_pitch():
    assert names(read("[DD]2")) == "D4"


def test_grace_notes_hang_on_the_note_that_follows():
    phrase = read("C2 {gf}e2 {/d}|c4")
    assert [event.ornaments.graces for event in phrase.events] == [(), (79, 77), (74,)]
    assert onsets(phrase) == ["0", "1", "2"]


def test_grace_notes_that_nothing_follows_are_named():
    assert left_out(read("C8 {de}|")) == {"grace notes without a note to follow": 2}


def test_accents_and_slides_become_ornaments():
    first, second, third = read("LC !>!D !slide!E").events
    assert first.ornaments.accent
    assert second.ornaments.accent
    assert (third.ornaments.slide_from, third.midi) == (62, (64,))


def test_a_symbol_that_nothing_defines_says_nothing():
    phrase = read("QC hD wE")
    assert names(phrase) == "C4 D4 E4"
    assert left_out(phrase) == {}


def test_other_decorations_are_named():
    phrase = read('TC .D ~E "Am"F "^up"G (A B) !f!c')
    assert left_out(phrase) == {
        "trills": 1,
        "staccato": 1,
        "rolls": 1,
        "chord symbols": 1,
        "annotations": 1,
        "slurs": 1,
        "dynamics": 1,
    }


def test_a_decoration_that_the_standard_does_not_name_goes_by_its_own_name():
    (one,) = read("!jiggle!C !jiggle!D").left_out
    assert (one.kind, one.values, one.count) == ("decoration", (("name", "jiggle"),), 2)
    (long,) = read(f"!{'ab' * 90}!C").left_out
    assert len(dict(long.values)["name"]) == 60


def test_a_symbol_can_be_defined_anew():
    assert read("WC", HEADER.replace("K:C", "U: W = !accent!\nK:C")).events[0].ornaments.accent


def test_tuplets_in_simple_and_compound_metre():
    assert lengths(read("(3CDE (5CDEFG", "X:1\nM:4/4\nL:1/8\nK:C\n")) == ["1/3"] * 3 + ["1/5"] * 5
    assert lengths(read("(5CDEFG", "X:1\nM:6/8\nL:1/8\nK:C\n")) == ["3/10"] * 5


def test_graces_do_not_count_in_a_tuplet():
    assert lengths(read("(3C{e}DE F2")) == ["1/3", "1/3", "1/3", "1"]


def test_rests_spaces_and_bars_of_rest_take_their_time():
    assert onsets(read("C2 z2 x2 y4 D2|Z2|E2")) == ["0", "3", "12"]


def test_an_overlay_sounds_with_the_bar_before_it():
    phrase = read("c4 d4 & E8|f8|")
    assert onsets(phrase) == ["0", "0", "2", "4"]
    assert names(phrase) == "E4 C5 D5 F5"


def test_the_key_and_mode_of_the_tune():
    assert read("C", "X:1\nK:Ador\n").key == Key(9, "dorian")
    assert read("C", "X:1\nK:Bb mix\n").key == Key(10, "mixolydian")
    assert read("C", "X:1\nK:none\n").key is None


@pytest.mark.parametrize(
    ("field", "expected"),
    [
        ("K:C octave=-1", "C3"),
        ("K:C clef=treble-8", "C3"),
        ("K:C treble+8", "C5"),
        ("K:C transpose=-2", "Bb3"),
        ("K:C t=3", "Eb4"),
        ("K:C clef=bass middle=d", "C4"),
    ],
)
def test_clefs_and_transposition_give_the_sounding_pitch(field, expected):
    assert names(read("C", f"X:1\nL:1/8\n{field}\n")) == expected


def test_a_transposed_tune_has_the_key_that_sounds():
    assert read("C", "X:1\nK:D transpose=-2\n").key == Key(0)


def test_a_key_change_is_obeyed_and_named():
    phrase = read("F2 [K:D]F2")
    assert names(phrase) == "F4 F#4"
    assert left_out(phrase)["key changes"] == 1


def test_macros_are_written_out():
    static = read("~G3 C", HEADER.replace("K:C", "m: ~G3 = G{A}G{F}G\nK:C"))
    assert names(static) == "G4 G4 G4 C4"
    moving = read("~g2 ~D2", HEADER.replace("K:C", "m: ~n2 = (3o/n/m/ n\nK:C"))
    assert names(moving) == "A5 G5 F5 G5 E4 D4 C4 D4"


def test_old_chords_between_plus_signs_are_read_in_old_files():
    assert names(read("+CE+2 G2")) == "C4+E4 G4"


@pytest.mark.parametrize(
    ("code", "message", "where"),
    [
        ("CD{EF", "'{' is never closed", "line 6, column 3"),
        ("CD[EF", r"'\[' is never closed", "line 6, column 3"),
        ("[CE|", "a bar ends inside a chord", "line 6, column 4"),
        ("C D]", r"'\]' closes no chord", "line 6, column 4"),
        ("> C", "'>' has no note before it", "line 6, column 1"),
        ("C0", "not a note length: '0'", "line 6, column 1"),
        ("C/999", "not a note length: '/999'", "line 6, column 1"),
        ("C|[1-99 D|", "an ending of number '1-99'", "line 6, column 3"),
        ("[M:5]C", "not a metre: '5'", "line 6, column 1"),
        ("[L:x]C", "not a unit note length: 'x'", "line 6, column 1"),
        ("[Q:fast]C", "not a tempo: 'fast'", "line 6, column 1"),
        ("[K:H]C", "not a key: 'H'", "line 6, column 1"),
        ("[K:C foo]C", "there is no mode named 'foo'", "line 6, column 1"),
        ("[M:none]Z", "no length in free metre", "line 6, column 9"),
    ],
)
def test_faults_are_named_by_line_and_column(code, message, where):
    with pytest.raises(ReadError, match=message) as raised:
        read(code)
    assert in_english(raised.value.where) == where


def test_signs_that_mean_nothing_are_errors_in_strict_files_only():
    code = "CDEF GABc|CDEF GAB =|\n"
    with pytest.raises(ReadError, match="'=' means nothing") as raised:
        read(code, "%abc-2.1\n" + HEADER)
    assert in_english(raised.value.where) == "line 7, column 20"
    assert left_out(read(code))["signs that mean nothing, such as '='"] == 1


def test_a_text_that_is_mostly_no_music_is_refused():
    with pytest.raises(ReadError, match="means nothing here"):
        read("1 2 3 4 5 = = C")


@pytest.mark.parametrize("key", ["Dmix=c", "D mix =c", "D octave=0 =c", "D middle=d =c", "D =c clef=alto"])
def test_key_modifiers_stand_beside_clefs_and_modes(key):
    assert names(read("F C", f"X:1\nL:1/8\nK:{key}\n")) == "F#4 C4"


def test_a_key_field_with_only_a_clef_changes_no_key():
    assert names(read("F [K:clef=bass]F [K:treble-8]F", "X:1\nL:1/8\nK:G\n")) == "F#4 F#4 F#3"

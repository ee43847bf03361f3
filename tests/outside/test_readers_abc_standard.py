"""ABC held to the worked examples of its standard.

Source: the abc music standard 2.1 (December 2011), https://abcnotation.com/wiki/abc:standard:v2.1; each check names
the section whose example or rule it takes. Traditional tunes and one of 1584 (Monteverdi) are those of section 13.
"""

from fractions import Fraction

import pytest

from reedpath.phrase import Metre, Tempo, performed
from reedpath.pitch import Key, midi_name
from reedpath.readers import read_phrase

pytestmark = pytest.mark.outside


def read(code: str, header: str = "X:1\nT:x\nL:1/8\nM:none\nK:C\n", **options):
    return read_phrase((header + code).encode(), format="abc", options=options)


def notes(phrase):
    return [(event.onset, event.duration, event.midi) for event in phrase.events]


def test_2_2_5_remarks_and_comments_are_as_if_they_were_not_there():
    code = (
        "|:DEF FED| % this is an end of line comment\n% this is a comment line\nDEF [r:and this is a remark] FED:|\n"
    )
    with_them, without = read(code), read("|:DEF FED|\nDEF FED:|\n")
    assert (notes(with_them), with_them.repeats) == (notes(without), without.repeats)
    assert len(with_them.events) == 12


def test_3_1_6_metres():
    for text, expected in (
        ("C", (4, 4)),
        ("C|", (2, 2)),
        ("(2+3+2)/8", (7, 8)),
        ("2+3+2/8", (7, 8)),
        ("6/8", (6, 8)),
    ):
        count, unit = expected
        phrase = read(f"z{8 * count // unit}|C{8 * count // unit}|", f"X:1\nM:{text}\nL:1/8\nK:C\n")
        assert phrase.metres == (Metre(Fraction(0), *expected),), text


@pytest.mark.parametrize(
    ("metre", "beats"),
    [
        ("2/4", Fraction(1, 4)),
        ("4/4", Fraction(1, 2)),
        ("6/8", Fraction(1, 2)),
        ("3/4", Fraction(1, 2)),
        ("C", Fraction(1, 2)),
        ("C|", Fraction(1, 2)),
        ("none", Fraction(1, 2)),
    ],
)
def test_3_1_7_the_default_unit_follows_the_metre(metre, beats):
    assert read("C", f"X:1\nM:{metre}\nK:C\n").events[0].duration == beats


@pytest.mark.parametrize(
    ("field", "bpm"),
    [
        ("1/2=120", 240.0),
        ("1/4 3/8 1/4 3/8=40", 200.0),
        ('"Allegro" 1/4=120', 120.0),
        ('3/8=50 "Slowly"', 75.0),
        ("C=120", 60.0),  # section 10.1: unit note lengths per minute, here eighths
        ("120", 60.0),
    ],
)
def test_3_1_8_tempos(field, bpm):
    assert read("C", f"X:1\nL:1/8\nQ:{field}\nK:C\n").tempos == (Tempo(Fraction(0), bpm),)


@pytest.mark.parametrize(
    ("order", "expected"),
    [("ABABCDCD", "ABABCDCD"), ("A3", "AAA"), ("(AB)3", "ABABAB"), ("((AB)3.(CD)3)2", "ABABABCDCDCDABABABCDCDCD")],
)
def test_3_1_9_orders_of_parts(order, expected):
    body = "".join(f"P:{letter}\n{letter}4|\n" for letter in "ABCD")
    played = read(body, f"X:1\nL:1/8\nM:2/4\nP:{order}\nK:C\n")
    assert "".join(midi_name(event.midi[0])[0] for event in played.events) == expected


KEY_TABLE = """
C# A#m G#Mix D#Dor E#Phr F#Lyd B#Loc
F# D#m C#Mix G#Dor A#Phr BLyd E#Loc
B G#m F#Mix C#Dor D#Phr ELyd A#Loc
E C#m BMix F#Dor G#Phr ALyd D#Loc
A F#m EMix BDor C#Phr DLyd G#Loc
D Bm AMix EDor F#Phr GLyd C#Loc
G Em DMix ADor BPhr CLyd F#Loc
C Am GMix DDor EPhr FLyd BLoc
F Dm CMix GDor APhr BbLyd ELoc
Bb Gm FMix CDor DPhr EbLyd ALoc
Eb Cm BbMix FDor GPhr AbLyd DLoc
Ab Fm EbMix BbDor CPhr DbLyd GLoc
Db Bbm AbMix EbDor FPhr GbLyd CLoc
Gb Ebm DbMix AbDor BbPhr CbLyd FLoc
Cb Abm GbMix DbDor EbPhr FbLyd BbLoc
"""


def test_3_1_14_the_table_of_keys_and_modes():
    scale = dict(zip("CDEFGAB", (60, 62, 64, 65, 67, 69, 71), strict=True))
    for row, sharps in zip(KEY_TABLE.split("\n")[1:], range(7, -8, -1), strict=False):
        altered = dict(scale)
        for letter in "FCGDAEB"[: max(sharps, 0)]:
            altered[letter] += 1
        for letter in "BEADGCF"[: max(-sharps, 0)]:
            altered[letter] -= 1
        for key in row.split():
            sung = [event.midi[0] for event in read("CDEFGAB", f"X:1\nL:1/8\nM:none\nK:{key}\n").events]
            assert sung == list(altered.values()), key


@pytest.mark.parametrize(
    "key",
    [
        "C major",
        "A minor",
        "C ionian",
        "A aeolian",
        "G mixolydian",
        "D dorian",
        "E phrygian",
        "F lydian",
        "B locrian",
        "",
        "none",
    ],
)
def test_3_1_14_keys_without_sharps_or_flats(key):
    assert [event.midi[0] for event in read("FB", f"X:1\nL:1/8\nK:{key}\n").events] == [65, 71]


def test_3_1_14_modes_are_told_by_three_letters_in_any_case():
    for key in ("F# mixolydian", "F#Mix", "F#MIX"):
        assert read("C", f"X:1\nK:{key}\n").key == Key(6, "mixolydian")


@pytest.mark.parametrize(
    ("key", "code", "expected"),
    [
        ("D Phr ^f", "B E F", "Bb4 Eb4 F#4"),
        ("D exp _b _e ^f", "B E F C", "Bb4 Eb4 F#4 C4"),
        ("D maj =c", "F C", "F#4 C4"),
        ("D =c", "F C", "F#4 C4"),
        ("HP", "F C G", "F4 C4 G4"),
        ("Hp", "F C G", "F#4 Db4 G4"),
    ],
)
def test_3_1_14_modified_explicit_and_pipe_keys(key, code, expected):
    phrase = read(code, f"X:1\nL:1/8\nK:{key}\n")
    assert " ".join(midi_name(event.midi[0]) for event in phrase.events) == expected


def test_3_2_inline_fields_are_as_fields_on_lines():
    header = "X:1\nL:1/8\nM:6/8\nK:C\n"
    first = read("E2E EFE|E2E EFG|[M:9/8] A2G F2E D2|]\n", header)
    second = read("E2E EFE|E2E EFG|\\\nM:9/8\nA2G F2E D2|]\n", header)
    assert notes(first) == notes(second)
    assert first.metres == second.metres
    assert Metre(Fraction(6), 9, 8) in first.metres


def test_4_1_octave_marks_add_up():
    assert [event.midi[0] for event in read("C,', C, C' c").events] == [48, 48, 72, 72]


def test_4_3_note_lengths():
    lengths = [
        event.duration * 4 for event in read("A A1 A2 A3 A4 A6 A7 A8 A12 A14 A15", "X:1\nL:1/16\nK:C\n").events
    ]
    assert lengths == [1, 1, 2, 3, 4, 6, 7, 8, 12, 14, 15]
    shorter = [event.duration for event in read("A/2 A3/2 A/4 A/ A//").events]
    assert shorter == [Fraction(each) for each in ("1/4", "3/4", "1/8", "1/4", "1/8")]


def test_4_4_broken_rhythm():
    written_out = read("a3b cd3 a2b2c2d2", "X:1\nL:1/16\nM:none\nK:C\n")
    divided = read("a3/2b/2 c/2d3/2 abcd")
    assert notes(read("a>b c<d abcd")) == notes(divided) == notes(written_out)
    assert [event.duration for event in read("A>>B A>>>B A<<B").events] == [
        Fraction(each) for each in ("7/8", "1/8", "15/16", "1/16", "1/8", "7/8")
    ]


def test_4_5_bars_of_rest_are_rests_of_bars():
    header = "X:1\nM:2/4\nL:1/8\nK:C\n"
    assert notes(read("Z4|CD EF|GA Bc", header)) == notes(read("z4|z4|z4|z4|CD EF|GA Bc", header))
    assert notes(read("Z|C4", header)) == notes(read("z4|C4", header)) == notes(read("X|C4", header))


def test_4_7_beams_and_back_quotes_say_nothing():
    assert notes(read("A2BC")) == notes(read("A2 B C")) == notes(read("A2``B``C"))


@pytest.mark.parametrize("sign", ["::", ":|:", ":||:"])
def test_4_8_the_two_sided_repeat_has_three_shapes(sign):
    header = "X:1\nM:2/4\nL:1/8\nK:C\n"
    assert performed(read(f"|:C4{sign}D4:|", header)).events == performed(read("|:C4:||:D4:|", header)).events


def test_4_8_sections_played_three_times():
    assert len(performed(read("|::C4::|", "X:1\nM:2/4\nL:1/8\nK:C\n")).events) == 3


def test_4_9_first_and_second_repeats():
    header = "X:1\nM:6/8\nL:1/8\nK:G\n"
    phrase = read("faf gfe|[1 dfe dBA:|[2 d2e dcB|].", header)
    names = "".join(midi_name(event.midi[0])[0].lower() for event in phrase.events)
    assert names == "fafgfe" + "dfedba" + "fafgfe" + "dedcb"
    assert notes(read("faf gfe|1 dfe dBA:|2 d2e dcB|]", header)) == notes(phrase)


def test_4_10_variant_endings():
    header = "X:1\nM:2/4\nL:1/8\nP:A4\nK:C\n"
    phrase = read("P:A\nC4 | [1  D4  :| [2 E4 :| [3 F4 :| [4 G4 |]", header)
    assert "".join(midi_name(event.midi[0])[0] for event in phrase.events) == "CDCECFCG"
    lists = read("C4|[1,3,5-7  D4  :| [2,4,8 E4 :|", "X:1\nM:2/4\nL:1/8\nK:C\n")
    assert "".join(midi_name(event.midi[0])[0] for event in lists.events) == "CDCECDCECDCDCDCE"


def test_4_11_ties():
    assert [event.duration for event in read("abc-|cba").events] == [Fraction(1, 2)] * 2 + [1] + [Fraction(1, 2)] * 2
    assert [event.duration for event in read("c4-c4").events] == [4]
    assert [event.duration for event in read("C.-C").events] == [1]


def test_4_11_slurs_are_no_ties():
    assert notes(read("(c (d e f) g a)")) == notes(read("c d e f g a")) == notes(read("(c d (e) f g a)"))


def test_4_12_graces_are_transparent_to_broken_rhythm():
    forms = [read(code) for code in ("A<{g}A", "A{g}<A", "A/2{g}A3/2")]
    assert notes(forms[0]) == notes(forms[1]) == notes(forms[2])
    assert [form.events[1].ornaments.graces for form in forms] == [(79,)] * 3


def test_4_12_grace_notes_of_all_kinds():
    for code, graces in (("{GdGe}c", "G d G e"), ("{/gagab}C", "g a g a b"), ("{a3/2b/}c", "a b"), ("{a>b}c", "a b")):
        expected = tuple(event.midi[0] for event in read(graces).events)
        assert read(code).events[0].ornaments.graces == expected


@pytest.mark.parametrize(
    ("count", "simple", "compound"),
    [(2, 3, 3), (3, 2, 2), (4, 3, 3), (5, 2, 3), (6, 2, 2), (7, 2, 3), (8, 3, 3), (9, 2, 3)],
)
def test_4_13_the_table_of_tuplets(count, simple, compound):
    for metre, time in (("4/4", simple), ("6/8", compound)):
        phrase = read(f"({count}{'C' * count} D", f"X:1\nL:1/4\nM:{metre}\nK:C\n")
        assert phrase.events[-1].onset == time
        assert phrase.events[-1].duration == 1


def test_4_13_general_tuplets():
    assert notes(read("(3CDE")) == notes(read("(3::CDE")) == notes(read("(3:2CDE")) == notes(read("(3:2:3CDE"))
    assert notes(read("(3::2CDE")) == notes(read("(3:2:2CDE"))
    assert [event.duration for event in read("(3:2:2 G4c2").events] == [Fraction(4, 3), Fraction(2, 3)]
    assert sum(event.duration for event in read("(3:2:4 G2A2Bc").events) == 2
    assert [event.duration for event in read("(3 D2E2F2").events] == [Fraction(2, 3)] * 3


def test_4_17_chords():
    assert read("[CEGc]").events[0].midi == (60, 64, 67, 72)
    assert notes(read("[C2E2G2]3")) == notes(read("[CEG]6"))
    assert [event.duration for event in read("[d2f2][ce][df]").events] == [1, Fraction(1, 2), Fraction(1, 2)]


def test_4_17_a_chord_takes_what_a_note_takes():
    phrase = read('( "^I" !f! [CEG]- > [CEG] "^IV" [F=AC]3/2"^V"[GBD]/  H[CEG]2 )')
    assert [(str(event.duration), event.midi) for event in phrase.events] == [
        ("1", (60, 64, 67)),
        ("3/4", (60, 65, 69)),
        ("1/4", (62, 67, 71)),
        ("1", (60, 64, 67)),
    ]


def test_4_20_order_of_constructs():
    first, second = read("~^c'3").events[0], read('"Gm7"v.=G,2').events[0]
    assert (first.midi, first.duration) == ((85,), Fraction(3, 2))
    assert (second.midi, second.duration) == ((55,), 1)


def test_6_1_1_backslashes_join_lines():
    assert notes(read("abc cba|\\ % end of line comment\nabc cba|\n")) == notes(read("abc cba|abc cba|"))
    assert notes(read("cdef|\\\n\\\ncedf:|")) == notes(read("cdef|cedf:|"))
    through = read("abc cab|\\\n%%setbarnb 10\nM:9/8\n%comment\nabc cba abc|\n", "X:1\nL:1/8\nM:6/8\nK:C\n")
    inline = read("abc cab|[I:setbarnb 10][M:9/8][r:comment]abc cba abc|\n", "X:1\nL:1/8\nM:6/8\nK:C\n")
    assert (notes(through), through.metres) == (notes(inline), inline.metres)


ZOCHARTI_LOCH = """X:1
T:Zocharti Loch
C:Louis Lewandowski (1821-1894)
M:C
Q:1/4=76
%%score (T1 T2) (B1 B2)
V:T1           clef=treble-8  name="Tenore I"   snm="T.I"
V:T2           clef=treble-8  name="Tenore II"  snm="T.II"
V:B1  middle=d clef=bass      name="Basso I"    snm="B.I"  transpose=-24
V:B2  middle=d clef=bass      name="Basso II"   snm="B.II" transpose=-24
K:Gm
%            End of header, start of tune body:
"""
INTERLEAVED = """% 1
[V:T1]  (B2c2 d2g2)  | f6e2      | (d2c2 d2)e2 | d4 c2z2 |
[V:T2]  (G2A2 B2e2)  | d6c2      | (B2A2 B2)c2 | B4 A2z2 |
[V:B1]       z8      | z2f2 g2a2 | b2z2 z2 e2  | f4 f2z2 |
[V:B2]       x8      |     x8    |      x8     |    x8   |
% 5
[V:T1]  (B2c2 d2g2)  | f8        | d3c (d2fe)  | H d6    ||
[V:T2]       z8      |     z8    | B3A (B2c2)  | H A6    ||
[V:B1]  (d2f2 b2e'2) | d'8       | g3g  g4     | H^f6    ||
[V:B2]       x8      | z2B2 c2d2 | e3e (d2c2)  | H d6    ||
"""
BY_VOICE = """V:T1
 (B2c2 d2g2) | f6e2 | (d2c2 d2)e2 | d4 c2z2 |
 (B2c2 d2g2) | f8 | d3c (d2fe) | H d6 ||
V:T2
 (G2A2 B2e2) | d6c2 | (B2A2 B2)c2 | B4 A2z2 |
 z8 | z8 | B3A (B2c2) | H A6 ||
V:B1
 z8 | z2f2 g2a2 | b2z2 z2 e2 | f4 f2z2 |
 (d2f2 b2e'2) | d'8 | g3g  g4 | H^f6 ||
V:B2
 x8 | x8 | x8 | x8 |
 x8 | z2B2 c2d2 | e3e (d2c2) | H d6 ||
"""


@pytest.mark.parametrize("voice", ["T1", "T2", "B1", "B2"])
def test_7_voices_line_by_line_or_one_after_another(voice):
    interleaved = read(INTERLEAVED, ZOCHARTI_LOCH, part=voice)
    by_voice = read(BY_VOICE, ZOCHARTI_LOCH, part=voice)
    assert notes(interleaved) == notes(by_voice) != []
    assert interleaved.tempos == ((Tempo(Fraction(0), 76.0),) if voice == "T1" else by_voice.tempos)


def test_7_1_a_clef_with_8_below_sounds_an_octave_lower():
    assert read(INTERLEAVED, ZOCHARTI_LOCH, part="Tenore I").events[0].midi == (58,)  # B flat below middle C


def test_4_6_a_bass_voice_written_high_and_transposed_sounds_low():
    assert read(INTERLEAVED, ZOCHARTI_LOCH, part="B1").events[0].midi == (53,)  # f written at 77, two octaves down


def test_7_4_voice_overlay():
    phrase = read(
        "A2 | c d e f g  a  &\\\n     A A A A A  A  &\\\n     F E D C B, A, |]\n", "X:1\nM:6/8\nL:1/8\nK:C\n"
    )
    bar = [event for event in phrase.events if event.onset >= 1]
    assert len({event.onset for event in bar}) == 6
    assert bar[0].midi == (65, 69, 72)
    assert bar[-1].midi == (57, 69, 81)


def test_8_1_reserved_characters_are_passed_over():
    written = '@a !pp! #bc2/3* [K:C#] de?f "@this $2was difficult to parse?" y |**\n'
    treated = 'a !pp! bc2/3 [K:C#] def "@this $2was difficult to parse?" y |\n'
    for version in ("", "%abc-2.1\n"):
        assert notes(read(written, version + "X:1\nL:1/8\nM:none\nK:C\n")) == notes(
            read(treated, version + "X:1\nL:1/8\nM:none\nK:C\n")
        )


def test_9_1_static_macros():
    header = "X:50\nT:Apples in Winter\nR:jig\nm: ~g2 = {a}g{f}g\nm: ~D2 = {E}D{C}D\nM:6/8\nK:D\n"
    written = "G/2A/2|BEE dEE|BAG FGE|~D2D FDF|ABc ded|\nBEE BAB|def ~g2 e|fdB AGF|GEE E2:|\n"
    expanded = written.replace("~g2", "{a}g{f}g").replace("~D2", "{E}D{C}D")
    assert read(written, header).events == read(expanded, header).events


def test_9_2_transposing_macros():
    header = "X:35\nT:Down the Broom\nR:reel\nM:C|\nm: ~n2 = (3o/n/m/ n\nK:ADor\n"
    macro = read("EAAG~A2 Bd|eg~g2 egdc|BGGF GAGE|~D2B,D GABG|\n", header)
    by_hand = read("EAAG(3B/A/G/ A Bd|eg(3a/g/f/ g egdc|BGGF GAGE|(3E/D/C/ DB,D GABG|\n", header)
    assert macro.events == by_hand.events


@pytest.mark.parametrize(
    ("spread", "expected"), [("not", [66, 65, 77]), ("octave", [66, 66, 77]), ("pitch", [66, 66, 78])]
)
def test_11_3_propagation_of_accidentals(spread, expected):
    assert [event.midi[0] for event in read(f"%%propagate-accidentals {spread}\n^F F f").events] == expected


def test_11_3_accidentals_reach_every_octave_by_default():
    assert [event.midi[0] for event in read("^F f | F f").events] == [66, 78, 65, 77]


def test_12_1_1_exclamation_marks_as_line_breaks():
    phrase = read("ABC DEF|!FED ABC|]\n", "X:1\nI:linebreak !\nL:1/8\nM:6/8\nK:G\n")
    assert len(phrase.events) == 12


ENGLISH = """%abc-2.1
H:This file contains some example English tunes
O:England             % the origin of all tunes is England

X:1                   % tune no 1
T:Dusty Miller, The   % title
R:DH                  % double hornpipe
M:3/4                 % meter
K:G                   % key
B>cd BAG|FA Ac BA|B>cd BAG|DG GB AG:|
Bdd gfg|aA Ac BA|Bdd gfa|gG GB AG:|
BG G/2G/2G BG|FA Ac BA|BG G/2G/2G BG|DG GB AG:|
W:Hey, the dusty miller, and his dusty coat;

X:2
T:Old Sir Simon the King
M:9/8
K:G
D|GFG GAG G2D|GFG GAG F2D|EFE EFE EFG|A2G F2E D2:|
D|GAG GAB d2D|GAG GAB c2D|[1 EFE EFE EFG|A2G F2E D2:|\\ % no line-break in score
M:12/8                % change of meter
[2 E2E EFE E2E EFG|\\  % no line-break in score
M:9/8                 % change of meter
A2G F2E D2|]

X:3
T:William and Nancy
P:(AB)2(AC)2A                 % play the parts in this order
M:6/8
K:G
[P:A] D|"G"G2G GBd|"C"e2e "G"dBG|"D7"A2d "G"BAG|"C"E2"D7"F "G"G2:|
[P:B] d|"G"e2d B2d|"C"gfe "G"d2d| "G"e2d    B2d|"C"gfe    "D7"d2c|
        "G"B2B Bcd|"C"e2e "G"dBG|"D7"A2d "G"BAG|"C"E2"D7"F "G"G2:|
% changes of meter, using inline fields
[T:Slows][M:4/4][L:1/4][P:C]"G"d2|"C"e2 "G"d2|B2 d2|"Em"gf "A7"e2|"D7"d2 "G"d2|\\
       "C"e2 "G"d2|[M:3/8][L:1/8] "G"B2 d |[M:6/8] "C"gfe "D7"d2c|
        "G"B2B Bcd|"C"e2e "G"dBG|"D7"A2d "G"BAG|"C"E2"D7"F "G"G2:|
"""


def test_13_1_english_tunes_add_up():
    for number, beats in ((1, 12 * 3), (2, None), (3, None)):
        phrase = read("", ENGLISH, tune=number)
        assert phrase.key == Key(7)
        if beats:
            assert phrase.end == beats


def test_13_1_an_ending_in_another_metre():
    phrase = read("", ENGLISH, tune=2)
    assert [(metre.count, metre.unit) for metre in phrase.metres] == [(9, 8), (12, 8), (9, 8)]
    first, second = Fraction(18), Fraction(18)  # four bars of 9/8 each, the pickup and the short bar making one
    assert phrase.end == 2 * first + 2 * second + Fraction(3, 2) - Fraction(0)


def test_13_1_parts_in_order_each_repeated():
    phrase = read("", ENGLISH, tune=3)
    labels = [part.label for part in phrase.parts if part.label != "Slows"]
    assert [label for index, label in enumerate(labels) if index == 0 or label != labels[index - 1]] == list(
        "ABABACACA"
    )


STRATHSPEY = """%abc-2.1
M:4/4
O:Scottish
R:Strathspey

X:1
T:A. A. Cameron's
K:D
e<A A2 B>G d>B|e<A A2 d>g (3fed|e<A A2 B>G d>B|B<G G>B d>g (3fed:|
B<e e>f g>e a>f|B<e e>f g>e (3fed|B<e e>f g>e a>f|d<B G>B d>g (3fed:|

X:2
T:Atholl Brose
I:linebreak $
K:D
{gcd}c<{e}A {gAGAG}A2 {gef}e>A {gAGAG}Ad|
{gcd}c<{e}A {gAGAG}A>e {ag}a>f {gef}e>d|
{gcd}c<{e}A {gAGAG}A2 {gef}e>A {gAGAG}Ad|
{g}c/d/e {g}G>{d}B {gf}gG {dc}d>B:|$
{g}c<e {gf}g>e {ag}a>e {gf}g>e|
{g}c<e {gf}g>e {ag}a2 {GdG}a>d|
{g}c<e {gf}g>e {ag}a>e {gf}g>f|
{gef}e>d {gf}g>d {gBd}B<{e}G {dc}d>B|
{g}c<e {gf}g>e {ag}a>e {gf}g>e|
{g}c<e {gf}g>e {ag}a2 {GdG}ad|
{g}c<{GdG}e {gf}ga {f}g>e {g}f>d|
{g}e/f/g {Gdc}d>c {gBd}B<{e}G {dc}d2|]
"""


def test_13_2_strathspeys_fill_their_bars():
    for number, bars in ((1, 8), (2, 12)):
        phrase = read("", STRATHSPEY, tune=number)
        assert phrase.end == 4 * bars
        assert phrase.metres == (Metre(Fraction(0), 4, 4),)
        assert not [each for each in phrase.left_out if "metre" in each.what]


def test_13_2_every_grace_note_of_the_pipes_is_kept():
    phrase = read("", STRATHSPEY, tune=2)
    written = sum(len(run.split("}")[0]) for run in STRATHSPEY.split("X:2")[1].split("{")[1:])
    assert sum(len(event.ornaments.graces) for event in phrase.events) == written > 100


REELS = """%abc-2.1
M:4/4
O:Irish
R:Reel

X:1
T:Untitled Reel
C:Trad.
K:D
eg|a2ab ageg|agbg agef|g2g2 fgag|f2d2 d2:|\\
ed|cecA B2ed|cAcA E2ed|cecA B2ed|c2A2 A2:|
K:G
AB|cdec BcdB|ABAF GFE2|cdec BcdB|c2A2 A2:|

X:2
T:Kitchen Girl
C:Trad.
K:D
[c4a4] [B4g4]|efed c2cd|e2f2 gaba|g2e2 e2fg|
a4 g4|efed cdef|g2d2 efed|c2A2 A4:|
K:G
ABcA BAGB|ABAG EDEG|A2AB c2d2|e3f edcB|ABcA BAGB|
ABAG EGAB|cBAc BAG2|A4 A4:|
"""


def test_13_3_reels():
    reel = read("", REELS, tune=1)
    assert [repeat.end - repeat.onset for repeat in reel.repeats] == [16, 16, 16]
    assert reel.pickup == 1
    girl = read("", REELS, tune=2)
    assert girl.events[0].midi == (73, 81)
    assert (girl.end, performed(girl).end) == (64, 128)


CANZONETTA = """%abc-2.1
X: 1
T: Canzonetta a tre voci
C: Claudio Monteverdi (1567-1643)
M: C
L: 1/4
Q: "Andante mosso" 1/4 = 110
%%score [1 2 3]
V: 1 clef=treble name="Soprano"sname="A"
V: 2 clef=treble name="Alto"   sname="T"
V: 3 clef=bass middle=d name="Tenor"  sname="B"
%%MIDI program 1 75 % recorder
K: Eb
% 1 - 4
[V: 1] |:z4  |z4  |f2ec         |_ddcc        |
w: Son que-sti~i cre-spi cri-ni~e
[V: 2] |:c2BG|AAGc|(F/G/A/B/)c=A|B2AA         |
[V: 3] |:z4  |f2ec|_ddcf        |(B/c/_d/e/)ff|
% 5 - 9
[V: 1] cAB2     |cAAA |c3B|G2!fermata!Gz ::e4|
[V: 2] AAG2     |AFFF |A3F|=E2!fermata!Ez::c4|
[V: 3] (ag/f/e2)|A_ddd|A3B|c2!fermata!cz ::A4|
% 10 - 15
[V: 1] f_dec |B2c2|zAGF  |\\
w: dim-me-lo ben mi-o, che que-sto\\
=EFG2          |1F2z2:|2F8|] % more notes
[V: 2] ABGA  |G2AA|GF=EF |(GF3/2=E//D//E)|1F2z2:|2F8|]
[V: 3] _dBc>d|e2AF|=EFc_d|c4             |1F2z2:|2F8|]
"""


@pytest.mark.parametrize("voice", ["1", "2", "3"])
def test_13_4_the_voices_of_the_canzonetta_end_together(voice):
    phrase = read("", CANZONETTA, part=voice)
    assert phrase.key == Key(3)
    bars = 8 * 2 + 5 * 2 + 1 + 2  # the first part twice, the second twice, its endings of one and two bars
    assert phrase.end == 4 * bars
    assert midi_name(phrase.events[-1].midi[0]).startswith("F")


def test_13_4_tempo_with_words():
    assert read("", CANZONETTA).tempos == (Tempo(Fraction(0), 110.0),)

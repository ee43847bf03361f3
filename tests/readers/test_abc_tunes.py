"""ABC tunes: bars, repeats, endings, parts, voices, tune books and their fields."""

from fractions import Fraction

import pytest

from reedpath.errors import NOWHERE, Place, ReadError
from reedpath.errors.english import in_english
from reedpath.phrase import LeftOut, Metre, Part, Repeat, Tempo
from reedpath.pitch import Key
from reedpath.readers import read_phrase
from reedpath.readers.abc import sniff_abc, tune_names
from reedpath.readers.limits import DEFAULT_LIMITS, Limits
from support.read_phrases import sung

HEADER = "X:1\nT:Own\nM:2/4\nL:1/8\nK:C\n"


def read(code: str, header: str = HEADER, **options):
    return read_phrase((header + code + "\n").encode(), format="abc", options=options)


def test_plain_repeats_stay_folded():
    phrase = read("|:C4|D4:|E4|")
    assert phrase.repeats == (Repeat(Fraction(0), Fraction(4), 2),)
    assert sung(phrase) == "CDCDE"


def test_endings_are_written_out():
    phrase = read("|:C4|1 D4:|2 E4|F4|]")
    assert phrase.repeats == ()
    assert sung(phrase) == "CDCEF"


@pytest.mark.parametrize(
    ("code", "expected"),
    [
        ("C4:|D4|", "CCD"),
        ("C4|D4::E4|F4:|", "CDCDEFEF"),
        ("C4:||:D4:|", "CCDD"),
        ("|::C4::|", "CCC"),
        ("C4||D4:|", "CDD"),
        ("|:C4||D4:|", "CDCD"),
        ("C4|[1 D4:|[2 E4|]F4:|", "CDCEFF"),
        ("|:C4|[1,3 D4:|[2 E4:|]", "CDCECD"),
        ("|:C4|[1-2 D4:|[3 E4|]", "CDCDCE"),
        ("C4|!fine!D4|!D.C.!E4|", "CDECD"),
        ("C4 !fine!|D4|E4 !D.C.!|", "CDEC"),
        ("C4|!segno!D4|E4!D.S.!|", "CDEDE"),
        ("C4|D4 !dacoda!|E4!D.C.!|!coda!F4|", "CDECDF"),
        ("C4[|D4[|][|]:|", "CDD"),
        ("C4.|D4[|]E4|", "CDE"),
    ],
)
def test_bar_lines_give_the_order_of_playing(code, expected):
    # repeats without a start: ABC 2.1, section 4.8; jumps: common practice, no source
    assert sung(read(code)) == expected


def test_a_repeat_sign_inside_a_bar_leaves_the_bars_whole():
    phrase = read("G|C3D|E3:|:F|G3A|B3:|", HEADER.replace("2/4", "2/4"))
    assert phrase.pickup == Fraction(1, 2)
    assert phrase.metres == (Metre(Fraction(0), 2, 4),)
    assert phrase.left_out == ()


def test_a_bar_that_does_not_add_up_gets_a_metre_of_its_own_and_is_named():
    phrase = read("C4|D3|E4|F4|")
    assert phrase.metres == (Metre(Fraction(0), 2, 4), Metre(Fraction(2), 3, 8), Metre(Fraction(7, 2), 2, 4))
    assert phrase.left_out == (
        LeftOut(
            "own-metre",
            Place(bar=2, line=6),
            values=(
                ("beats", "3/2"),
                ("metre", "2/4"),
            ),
        ),
    )
    assert [event.onset for event in phrase.events] == [0, 2, Fraction(7, 2), Fraction(11, 2)]


def test_free_metre_takes_each_bar_as_it_is():
    phrase = read("C4|D3|", HEADER.replace("M:2/4", "M:none"))
    assert phrase.left_out == ()
    assert [event.onset for event in phrase.events] == [0, 2]


def test_a_bar_longer_than_any_metre_is_cut_into_bars_and_named():
    # 130 quarter notes are 260/8 and 130/4; 300 are more than the upper number of any metre says
    phrase = read("C4|D260|E4|F4|")
    assert [(metre.onset, metre.count, metre.unit) for metre in phrase.metres] == [
        (0, 2, 4),
        (2, 130, 4),
        (132, 2, 4),
    ]
    phrase = read("C4|D599 D1|E4|D599|E4|F4|")
    assert [(metre.onset, metre.count, metre.unit) for metre in phrase.metres] == [
        (0, 2, 4),
        (Fraction(1207, 2), 2, 4),
    ]  # fmt: skip
    assert [event.onset for event in phrase.events][-2:] == [Fraction(1207, 2), Fraction(1211, 2)]
    assert [(one.kind, one.place.bar, one.count, one.values) for one in phrase.left_out] == [
        ("long-bar", 2, 1, (("beats", "300"), ("metre", "2/4"))),
        ("long-bar", 4, 1, (("beats", "599/2"), ("metre", "2/4"))),
    ]


def test_free_metre_without_bars_is_cut_into_common_time():
    phrase = read("C400 D400|", HEADER.replace("M:2/4", "M:none"))
    assert [(metre.onset, metre.count, metre.unit) for metre in phrase.metres] == [(0, 4, 4)]
    assert [(one.kind, one.values) for one in phrase.left_out] == [("long-bar", (("beats", "400"), ("metre", "4/4")))]


def test_a_bar_longer_than_255_whole_notes_is_refused_with_its_place():
    assert read("C4|D680 E680 D680|E4|").metres[-1].onset == 0
    with pytest.raises(ReadError, match=r"no bar is longer than 1,?020") as told:
        read("C4|D680 E680 D681|E4|")
    assert (told.value.key, told.value.where.bar) == ("readers.bar_too_long", 2)


def test_a_metre_that_no_file_can_say_is_refused():
    assert read("C4|", HEADER.replace("M:2/4", "M:200+55/4")).metres[0].count == 255
    with pytest.raises(ReadError, match="not a metre that a bar can have"):
        read("C4|", HEADER.replace("M:2/4", "M:200+56/4"))


def test_metres_and_tempos_change_where_they_stand():
    phrase = read("C4|[M:3/4]D6|[Q:1/4=60]E6|", HEADER.replace("K:C", "Q:1/8=240\nK:C"))
    assert phrase.metres == (Metre(Fraction(0), 2, 4), Metre(Fraction(2), 3, 4))
    assert phrase.tempos == (Tempo(Fraction(0), 120.0), Tempo(Fraction(5), 60.0))


def test_the_first_tempo_named_holds_from_the_start():
    for before in ("C", "C2", "C4"):
        assert read(f"{before}[Q:1/4=60]D4|").tempos == (Tempo(Fraction(0), 60.0),)


def test_swing_is_taken_from_the_tempo_words():
    assert read("C4|", HEADER.replace("K:C", 'Q:"Easy swing" 1/4=120\nK:C')).swing == 2
    assert read("C4|").swing == 1


def test_a_tempo_in_words_only_is_named():
    assert read("C4|", HEADER.replace("K:C", 'Q:"Andante"\nK:C')).left_out == (LeftOut("tempo-words", Place(line=5)),)


def test_parts_are_labelled_and_played_in_the_order_given():
    phrase = read("P:A\nC4|\nP:B\nD4|", HEADER.replace("K:C", "P:A(AB)2\nK:C"))
    assert sung(phrase) == "CCDCD"
    assert [part.label for part in phrase.parts] == list("AABAB")
    assert phrase.parts[1] == Part("A", Fraction(2), Fraction(4))


def test_parts_keep_their_own_repeats():
    assert sung(read("P:A\nC4:|\nP:B\nD4|", HEADER.replace("K:C", "P:ABA\nK:C"))) == "CCDCC"


def test_variant_endings_of_a_part_are_chosen_by_its_times():
    # ABC 2.1, section 4.10
    code = "P:A\nC4|[1 D4:|[2 E4:|[3 F4|]\nP:B\nG4|"
    assert sung(read(code, HEADER.replace("K:C", "P:A3B\nK:C"))) == "CDCECFG"


def test_a_part_that_is_not_written_is_named():
    phrase = read("P:A\nC4|", HEADER.replace("K:C", "P:AB\nK:C"))
    assert [each.what for each in phrase.left_out] == ["part B, named in the order of parts but not written"]


def test_an_order_without_parts_in_the_body_changes_nothing():
    assert sung(read("C4|D4:|", HEADER.replace("K:C", "P:AABB\nK:C"))) == "CDCD"


@pytest.mark.parametrize("order", ["A)B", "(AB", "((((A9)9)9)9)9"])
def test_an_order_of_parts_that_cannot_be_is_refused(order):
    with pytest.raises(ReadError, match="order of") as raised:
        read("P:A\nC4|", HEADER.replace("K:C", f"P:{order}\nK:C"))
    assert in_english(raised.value.where) == "line 5"


VOICES = HEADER.replace("K:C", 'V:high name="First fiddle"\nV:low clef=treble-8\nK:C')
TWO = "V:high\nc4|d4|\nV:low\nE4|F4|\n[V:high]e4|[V:low]G4|"


def test_the_first_voice_is_read_and_the_others_are_named():
    phrase = read(TWO, VOICES)
    assert sung(phrase) == "CDE"
    assert phrase.left_out == (LeftOut("voice", NOWHERE, 3, values=(("name", "low"),)),)


@pytest.mark.parametrize("part", ["high", "First fiddle"])
def test_a_voice_is_chosen_by_identity_or_name(part):
    assert sung(read(TWO, VOICES, part=part)) == "CDE"


def test_a_voice_has_its_own_clef():
    assert [event.midi for event in read(TWO, VOICES, part="low").events] == [(52,), (53,), (55,)]


def test_a_voice_that_is_not_there_is_refused_with_the_names():
    with pytest.raises(ReadError, match="there is no voice named 'bass'") as raised:
        read(TWO, VOICES, part="bass")
    assert raised.value.hint == "there are: high, low"


BOOK = "%abc\nM:3/4\nL:1/4\n\nfree text: not a tune\n\nX:7\nT:Seven\nK:C\nCDE|\n\nX:8\nT:Eight\nM:2/4\nK:G\nGA|\n"


def test_a_tune_book_gives_its_first_tune_and_names_the_rest():
    phrase = read("", BOOK)
    assert (phrase.title, sung(phrase)) == ("Seven", "CDE")
    assert phrase.metres == (Metre(Fraction(0), 3, 4),)
    assert phrase.left_out == (LeftOut("other-tunes", Place(tune=8)),)


@pytest.mark.parametrize("tune", [8, "8"])
def test_a_tune_is_chosen_by_its_number(tune):
    phrase = read("", BOOK, tune=tune)
    assert (phrase.title, sung(phrase)) == ("Eight", "GA")
    assert phrase.metres == (Metre(Fraction(0), 2, 4),)


AGAIN = "X:5\nT:One\nK:C\nC|\n\nX:5\nT:Two\nK:C\nD|\n\nX:\nT:Three\nK:C\nE|\n\nX:6 % the last\nT:Four\nK:C\nF|\n"


def test_tunes_with_a_number_that_comes_again_or_with_none_can_all_be_chosen():
    names = tune_names(AGAIN.encode(), limits=DEFAULT_LIMITS)
    assert names == (5, "5-2", "-1", 6)
    assert [read("", AGAIN, tune=name).title for name in names] == ["One", "Two", "Three", "Four"]
    assert read("", AGAIN, tune="5-1").title == "One"


@pytest.mark.parametrize("tune", ["5-3", "-2", "6-2"])
def test_a_tune_of_a_number_that_does_not_come_so_often_is_refused_with_what_there_is(tune):
    with pytest.raises(ReadError, match=f"no tune has the number X:{tune}") as raised:
        read("", AGAIN, tune=tune)
    assert raised.value.hint == "there are: 5, 5-2, -1, 6"


@pytest.mark.parametrize("tune", [9, "nine", "", "-", "5-0", "5-"])
def test_a_tune_that_is_not_there_is_refused(tune):
    with pytest.raises(ReadError, match="no tune has the number"):
        read("", BOOK, tune=tune)


def test_comments_remarks_lyrics_and_text_blocks_are_no_music():
    code = "C4|% DEF\n[r:GAB]D4|\nw:la la\n%%begintext\nc d e f\n%%endtext\nE4|"
    phrase = read(code)
    assert sung(phrase) == "CDE"
    assert phrase.left_out == (LeftOut("lyrics", Place(line=8)),)


def test_a_title_keeps_its_accents():
    header = "X:1\nT:Caf\\'e \\\"Ubung \\u00e9t\\u00e9 &amp; R\\%\nK:C\n"
    assert read("C", header).title == "Café Übung été & R%"


def test_a_fragment_without_a_header_is_read():
    assert sung(read("CDEF|", "")) == "CDEF"


def test_text_in_other_encodings_is_read():
    text = HEADER.replace("Own", "Größe") + "C4|\n"
    for encoding in ("utf-8-sig", "utf-16", "latin-1"):
        assert read_phrase(text.encode(encoding), format="abc").title == "Größe"


def test_places_are_bars_and_lines_with_the_pickup_as_bar_0():
    phrase = read("G2|C4|\nD4|E4|")
    assert [event.place for event in phrase.events] == [
        Place(bar=0, line=6),
        Place(bar=1, line=6),
        Place(bar=2, line=7),
        Place(bar=3, line=7),
    ]


def test_sniffing():
    assert sniff_abc(b"%abc-2.1\n") == 1.0
    assert sniff_abc(HEADER.encode()) > 0.9
    assert sniff_abc(b"K: a letter\nDear X: hello") == 0.0
    assert sniff_abc(b"\x00\x01binary") == 0.0


def test_limits_hold_for_repeats_written_out():
    with pytest.raises(ReadError, match="bars with their repeats; at most 20 allowed"):
        read_phrase((HEADER + "|:C4|[1-40 D4:|").encode(), format="abc", limits=Limits(bars=20))


def test_instructions_for_line_breaks_and_decorations():
    phrase = read("C2+accent+D2|!E4|", HEADER.replace("K:C", "I:linebreak !\nK:C"))
    assert [event.ornaments.accent for event in phrase.events] == [False, True, False]


@pytest.mark.parametrize(
    ("field", "key"),
    [
        ("Amix", Key(9, "mixolydian")),
        ("D dorian", Key(2, "dorian")),
        ("Ephr", Key(4, "phrygian")),
        ("F Lydian", Key(5, "lydian")),
        ("Bloc", Key(11, "locrian")),
        ("D =c", Key(2, "mixolydian")),
        ("Am ^f", Key(9, "dorian")),
        ("D exp ^f", Key(2, "mixolydian")),
        ("Dm ^c", Key(2, "minor")),
    ],
)
def test_a_mode_is_a_mode(field, key):
    assert read("A4|", HEADER.replace("K:C", f"K:{field}")).key == key

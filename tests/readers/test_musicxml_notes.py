"""MusicXML notes: pitch, time, voices, parts, ornaments and what is left out, in scores of our own."""

import pytest

from reedpath.errors import NOWHERE, Place, ReadError
from reedpath.errors.english import in_english
from reedpath.phrase import LeftOut, Ornaments, Phrase
from reedpath.pitch import Key
from reedpath.readers import read_phrase
from reedpath.readers.musicxml import sniff_musicxml
from support.read_phrases import left_out, names
from support.written_sources import FIRST, measure, note, score


def read(*measures: str, first: str = FIRST, options=None, **more) -> Phrase:
    return read_phrase(score(*measures, first=first, **more), format="musicxml", options=options)


def times(phrase: Phrase) -> list[tuple[str, str]]:
    return [(str(event.onset), str(event.duration)) for event in phrase.events]


def test_notes_rests_and_chords_stand_at_their_beats():
    phrase = read(measure(note("C4", 4), note("r", 2), note("E4", 2), note("G4", 2, chord=True), note("Bb3", 8)))
    assert names(phrase) == "C4 E4+G4 Bb3"
    assert times(phrase) == [("0", "1"), ("3/2", "1/2"), ("2", "2")]
    assert [in_english(event.place) for event in phrase.events] == ["bar 1"] * 3


def test_triplets_are_exact():
    first = FIRST.replace(">4<", ">6<", 1)
    phrase = read(measure(*[note("C4", 2)] * 6, *[note("D4", 10), note("E4", 2)]), first=first)
    assert times(phrase)[1] == ("1/3", "1/3")
    assert phrase.end == 4


def test_divisions_may_change():
    second = measure(note("D4", 480), attributes="<divisions>120</divisions>", number=2)
    assert times(read(measure(note("C4", 16)), second)) == [("0", "4"), ("4", "4")]


def test_ties_are_one_note_over_bars_and_chords():
    bars = (
        measure(note("C4", 16, tie="start")),
        measure(note("C4", 8, tie="stop start"), note("C4", 4, tie="stop"), note("C4", 4), number=2),
    )
    assert times(read(*bars)) == [("0", "7"), ("7", "1")]
    chord = measure(note("C4", 4, tie="start"), note("E4", 4, chord=True), note("C4", 12, tie="stop"))
    assert sorted(zip(names(read(chord)).split(), times(read(chord)), strict=True)) == [
        ("C4", ("0", "4")),
        ("E4", ("0", "1")),
    ]


def test_a_tie_drawn_only_is_a_tie():
    phrase = read(measure(note("C4", 8, notations='<tied type="start"/>'), note("C4", 8)))
    assert times(phrase) == [("0", "4")]


def test_voices_sound_together_and_one_can_be_chosen():
    both = measure(
        note("E5", 8),
        note("D5", 8),
        "<backup><duration>16</duration></backup>",
        note("C4", 12, voice="2"),
        "<forward><duration>4</duration></forward>",
    )
    assert names(read(both)) == "C4 E5 D5"
    chosen = read(both, options={"voice": 2})
    assert names(chosen) == "C4"
    assert left_out(chosen) == {"notes of other staves or voices": 2}


def test_staves_can_be_chosen():
    both = measure(
        note("E5", 16, tail="<staff>1</staff>"),
        "<backup><duration>16</duration></backup>",
        note("C3", 16, voice="5", tail="<staff>2</staff>"),
    )
    assert names(read(both, options={"staff": "2"})) == "C3"


def test_a_transposing_part_gives_the_sounding_pitch_and_key():
    transpose = "<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>"
    first = f"<key><fifths>2</fifths><mode>major</mode></key>{FIRST}{transpose}"
    phrase = read(measure(note("D4", 16)), first=first)
    assert names(phrase) == "C4"
    assert phrase.key == Key(0)


def test_a_guitar_sounds_an_octave_under_its_notation():
    # common practice, no source: guitar parts are written an octave up
    for transpose in ("<chromatic>0</chromatic><octave-change>-1</octave-change>", "<chromatic>-12</chromatic>"):
        phrase = read(measure(note("E4", 16)), first=f"{FIRST}<transpose>{transpose}</transpose>")
        assert names(phrase) == "E3"


STRINGS = (("E", 2), ("A", 2), ("D", 3), ("G", 3), ("B", 3), ("E", 4))
TUNING = "".join(
    f'<staff-tuning line="{line}"><tuning-step>{step}</tuning-step><tuning-octave>{octave}</tuning-octave>'
    "</staff-tuning>"
    for line, (step, octave) in enumerate(STRINGS, start=1)
)
DETAILS = f"<staff-details><staff-lines>6</staff-lines>{TUNING}</staff-details>"


def fretted(name: str, string: int, fret: int) -> str:
    return note(name, 4, notations=f"<technical><string>{string}</string><fret>{fret}</fret></technical>")


def test_tablature_that_lies_an_octave_off_decides_the_octave():
    notes = (fretted("C5", 3, 5), fretted("D5", 3, 7), fretted("E5", 2, 5), note("F5", 4))
    phrase = read(measure(*notes), first=FIRST + DETAILS)
    assert names(phrase) == "C4 D4 E4 F4"


def test_tablature_that_agrees_changes_nothing_and_a_capo_counts():
    assert names(read(measure(fretted("C4", 3, 5)), first=FIRST + DETAILS)) == "C4"
    capo = DETAILS.replace("</staff-details>", "<capo>2</capo></staff-details>")
    assert names(read(measure(fretted("D5", 3, 5)), first=FIRST + capo)) == "D4"


def test_tablature_off_by_no_octave_is_not_believed():
    assert names(read(measure(fretted("C4", 3, 6)), first=FIRST + DETAILS)) == "C4"


def test_a_tablature_under_its_staff_is_not_read_twice():
    clefs = "<staves>2</staves><clef number='1'><sign>G</sign></clef><clef number='2'><sign>TAB</sign></clef>"
    twins = measure(
        note("C5", 16, tail="<staff>1</staff>"),
        "<backup><duration>16</duration></backup>",
        note("C4", 16, voice="5", tail="<staff>2</staff>"),
    )
    phrase = read(twins, first=FIRST + clefs)
    assert names(phrase) == "C4"
    assert "staff 1, which shows the notes of the tablature" in left_out(phrase)


def test_quarter_tones_stay_in_the_cents():
    half_flat = (
        "<note><pitch><step>B</step><alter>-0.5</alter><octave>4</octave></pitch><duration>16</duration></note>"
    )
    event = read(measure(half_flat)).events[0]
    assert event.midi[0] * 100 + event.cents[0] == 7050


def test_grace_notes_hang_on_their_note():
    grace = note("D5", 0, inside="<grace/>")
    phrase = read(measure(grace, note("B4", 0, inside="<grace/>"), note("C5", 16)))
    assert phrase.events[0].ornaments == Ornaments(graces=(74, 71))
    assert times(phrase) == [("0", "4")]


def test_grace_notes_at_the_end_are_named():
    assert left_out(read(measure(note("C5", 16), note("D5", 0, inside="<grace/>")))) == {
        "grace notes without a note to follow": 1
    }


def test_accents_vibrato_and_open_slides():
    accent = note("C4", 4, notations="<articulations><accent/></articulations>")
    wave = note("D4", 4, notations='<ornaments><wavy-line type="start"/></ornaments>')
    between = note("E4", 4)
    end = note("F4", 4, notations='<ornaments><wavy-line type="stop"/></ornaments>')
    after = note("G4", 8)
    fall = note("A4", 8, notations="<articulations><falloff/></articulations>")
    events = read(measure(accent, wave, between, end), measure(after, fall, number=2)).events
    assert [event.ornaments.accent for event in events] == [True] + [False] * 5
    assert [event.ornaments.vibrato for event in events] == [False, True, True, True, False, False]
    assert events[5].ornaments.slide_to == 67


def test_a_trill_line_is_no_vibrato():
    trill = note("C4", 16, notations='<ornaments><trill-mark/><wavy-line type="start"/></ornaments>')
    phrase = read(measure(trill), measure(note("D4", 16), number=2))
    assert not any(event.ornaments.vibrato for event in phrase.events)
    assert left_out(phrase) == {"trills": 1}


@pytest.mark.parametrize("kind", ["slide", "glissando"])
def test_a_slide_comes_from_the_note_it_begins_on(kind):
    first = note("C4", 8, notations=f'<{kind} type="start" number="1"/>')
    second = note("E4", 8, notations=f'<{kind} type="stop" number="1"/>')
    one, two = read(measure(first, second)).events
    assert (one.ornaments, two.ornaments) == (Ornaments(), Ornaments(slide_from=60))


def test_a_grace_note_that_slides_is_the_slide():
    grace = note("C4", 0, inside="<grace/>", notations='<slide type="start"/>')
    main = note("E4", 16, notations='<slide type="stop"/>')
    assert read(measure(grace, main)).events[0].ornaments == Ornaments(slide_from=60)


def test_what_is_not_carried_over_is_named_once_with_its_first_bar():
    slurred = note("C4", 8, notations='<slur type="start"/><technical><hammer-on type="start"/></technical>')
    more = note(
        "D4", 8, notations="<articulations><staccato/></articulations>", tail="<lyric><text>la</text></lyric>"
    )
    chord = "<harmony><root><root-step>C</root-step></root><kind>major</kind></harmony>"
    loud = "<direction><direction-type><dynamics><f/></dynamics></direction-type></direction>"
    phrase = read(measure(chord, loud, slurred, more), measure(slurred, more, number=2))
    assert phrase.left_out == (
        LeftOut("chord-symbols", Place(bar=1), 1),
        LeftOut("dynamics", Place(bar=1), 1),
        LeftOut("slurs", Place(bar=1), 2),
        LeftOut("hammer-ons", Place(bar=1), 2),
        LeftOut("staccato", Place(bar=1), 2),
        LeftOut("lyrics", Place(bar=1), 2),
    )


def test_cue_muted_and_unpitched_notes_keep_their_time():
    cue = note("C4", 4, inside="<cue/>")
    muted = note("C4", 4, tail="<notehead>x</notehead>")
    shown = "<display-step>C</display-step><display-octave>5</display-octave>"
    drum = f"<note><unpitched>{shown}</unpitched><duration>4</duration></note>"
    phrase = read(measure(cue, muted, drum, note("G4", 4)))
    assert (names(phrase), times(phrase)) == ("G4", [("3", "1")])
    assert left_out(phrase) == {"cue notes": 1, "muted notes": 1, "notes without pitch": 1}


PARTS = [
    ("Drums", "<measure number='1'><note><unpitched/><duration>4</duration></note></measure>"),
    ("Bass", measure(note("C2", 4), note("D2", 4), attributes=FIRST)),
]


def test_the_first_pitched_part_is_read_and_the_others_are_named():
    phrase = read(measure(note("r", 16)), parts=PARTS)
    assert names(phrase) == "C2 D2"
    assert phrase.left_out[:2] == (
        LeftOut("part-without-pitch", NOWHERE, 1, values=(("name", "Lead"),)),
        LeftOut("part-without-pitch", NOWHERE, 1, values=(("name", "Drums"),)),
    )


@pytest.mark.parametrize("part", ["Bass", "bass", "P3", 3, "3"])
def test_a_part_is_chosen_by_name_identity_or_number(part):
    assert names(read(measure(note("C4", 16)), parts=PARTS, options={"part": part})) == "C2 D2"


def test_a_part_that_is_not_there_is_refused_with_the_names():
    with pytest.raises(ReadError, match="there is no part named 'Horn'") as raised:
        read(measure(note("C4", 16)), parts=PARTS, options={"part": "Horn"})
    assert raised.value.hint == "there are: Lead, Drums, Bass"


@pytest.mark.parametrize(
    ("fifths", "mode", "last", "expected"),
    [
        (-1, "minor", "C4", Key(2, "minor")),
        (1, "major", "C4", Key(7)),
        (0, "dorian", "C4", Key(2, "dorian")),
        (-2, "mixolydian", "C4", Key(5, "mixolydian")),
        (0, "ionian", "C4", Key(0)),
        (0, "aeolian", "C4", Key(9, "minor")),
        (0, "", "C4", Key(0)),
        (0, "", "A4", Key(9, "minor")),
        (0, "none", "G4", Key(0)),
    ],
)
def test_the_key_with_and_without_its_mode(fifths, mode, last, expected):
    key = f"<key><fifths>{fifths}</fifths>{f'<mode>{mode}</mode>' if mode else ''}</key>"
    assert read(measure(note("E4", 8), note(last, 8)), first=key + FIRST).key == expected


def test_the_title_is_that_of_the_work():
    assert read(measure(note("C4", 16)), title="Own piece").title == "Own piece"


def test_a_timewise_score_is_read_like_a_partwise_one():
    inner = note("C4", 8) + note("E4", 8)
    text = (
        '<score-timewise><part-list><score-part id="P1"><part-name>A</part-name></score-part></part-list>'
        f'<measure number="1"><part id="P1"><attributes>{FIRST}</attributes>{inner}</part></measure></score-timewise>'
    )
    assert read_phrase(text.encode()).events == read(measure(note("C4", 8), note("E4", 8))).events


def test_the_parts_of_a_timewise_score_are_put_together_from_its_measures():
    parts = "".join(f'<score-part id="{one}"><part-name>{one}</part-name></score-part>' for one in ("P1", "P2"))
    high, low = [("C5", "D5"), ("E5", "F5")], [("C4", "D4"), ("E4", "F4")]

    def read_part(part: str):
        measures = "".join(
            f'<measure number="{number + 1}">'
            + "".join(
                f'<part id="{name}">{f"<attributes>{FIRST}</attributes>" if number == 0 else ""}'
                + "".join(note(pitch, 8) for pitch in played[number])
                + "</part>"
                for name, played in (("P1", low), ("P2", high))
            )
            + "</measure>"
            for number in (0, 1)
        )
        text = f"<score-timewise><part-list>{parts}</part-list>{measures}</score-timewise>"
        return read_phrase(text.encode(), options={"part": part})

    assert names(read_part("1")) == "C4 D4 E4 F4"
    assert names(read_part("2")) == "C5 D5 E5 F5"


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "iso-8859-1"])
def test_encodings_of_the_document(encoding):
    text = score(measure(note("C4", 16)), title="Größe").decode()
    declared = text.replace(
        '<?xml version="1.0"?>', f'<?xml version="1.0" encoding="{encoding.removesuffix("-sig")}"?>'
    )
    phrase = read_phrase(declared.encode(encoding))
    assert (phrase.title, names(phrase)) == ("Größe", "C4")


def test_sniffing():
    assert sniff_musicxml(score(measure())) == 1.0
    assert sniff_musicxml("<score-timewise/>".encode("utf-16")) == 1.0
    assert sniff_musicxml(b'<?xml version="1.0"?><html/>') == 0.4
    assert sniff_musicxml(b"X:1") == 0.0


def test_an_empty_score_is_an_empty_phrase():
    assert read_phrase(b"<score-partwise><part-list/></score-partwise>") == Phrase(())


def test_reading_a_bar_that_does_not_add_up_says_nothing(capfd, recwarn):
    read(measure(note("C4", 7), note("D4", 12)), measure(note("C4", 3), number=2))
    assert capfd.readouterr() == ("", "")
    assert not recwarn.list

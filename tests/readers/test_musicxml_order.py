"""MusicXML bars: repeats, endings, jumps, metre, tempo, swing and labels, in scores of our own."""

from fractions import Fraction

import pytest

from reedpath.errors import Place, ReadError
from reedpath.errors.english import in_english
from reedpath.phrase import LeftOut, Metre, Part, Repeat, Tempo
from reedpath.readers import read_phrase
from support.read_phrases import sung
from support.written_sources import FIRST, barline, measure, note, score


def bar(name: str, *elements: str, number: int = 1, length: int = 16, before: str = "", **more) -> str:
    return measure(before, note(name, length), *elements, number=number, **more)


def read(*measures: str, first: str = FIRST, options=None, **more):
    return read_phrase(score(*measures, first=first, **more), format="musicxml", options=options)


def direction(inside: str, *, offset: str = "") -> str:
    return f"<direction>{inside}{f'<offset>{offset}</offset>' if offset else ''}</direction>"


def words(text: str) -> str:
    return direction(f"<direction-type><words>{text}</words></direction-type>")


def sound(**attributes: str) -> str:
    return "<sound " + " ".join(f"{name}='{value}'" for name, value in attributes.items()) + "/>"


FORWARD = barline(repeat="forward", location="left")
BACK = barline(repeat="backward")


def test_plain_repeats_stay_folded():
    phrase = read(bar("C4"), bar("D4", before=FORWARD), bar("E4", BACK), bar("F4"))
    assert phrase.repeats == (Repeat(Fraction(4), Fraction(12), 2),)
    assert sung(phrase) == "CDEDEF"


def test_times_of_a_repeat():
    assert sung(read(bar("C4", barline(repeat="backward", times=3)))) == "CCC"


def start(ending: str) -> str:
    return barline(ending=ending, kind="start", location="left")


def stop(ending: str, *, repeat: str = "backward") -> str:
    return barline(ending=ending, kind="stop" if repeat else "discontinue", repeat=repeat)


def test_endings_are_written_out():
    phrase = read(
        bar("C4", before=FORWARD),
        bar("D4", stop("1"), before=start("1")),
        bar("E4", stop("2", repeat=""), before=start("2")),
        bar("F4"),
    )
    assert phrase.repeats == ()
    assert sung(phrase) == "CDCEF"


def test_an_ending_over_several_bars_and_for_several_times():
    phrase = read(
        bar("C4"),
        bar("D4", before=start("1, 2")),
        bar("E4", stop("1, 2")),
        bar("F4", stop("3", repeat=""), before=start("3")),
    )
    assert sung(phrase) == "CDECDECF"


@pytest.mark.parametrize(
    ("measures", "expected"),
    [
        ([bar("C4"), bar("D4", sound(fine="yes")), bar("E4", sound(dacapo="yes"))], "CDECD"),
        ([bar("C4"), bar("D4", words("Fine")), bar("E4", words("D.C. al Fine"))], "CDECD"),
        ([bar("C4"), bar("D4", before=sound(segno="1")), bar("E4", sound(dalsegno="1"))], "CDEDE"),
        (
            [
                bar("C4"),
                bar("D4", before=direction("<direction-type><segno/></direction-type>")),
                bar("E4", words("D.S.")),
            ],
            "CDEDE",
        ),
        (
            [bar("C4", sound(tocoda="1")), bar("D4", sound(dacapo="yes")), bar("E4", before=sound(coda="1"))],
            "CDCE",
        ),
        (
            [
                bar("C4", direction("<direction-type><coda/></direction-type>")),
                bar("D4", words("Da Capo al Coda")),
                bar("E4", before=direction("<direction-type><coda/></direction-type>")),
            ],
            "CDCE",
        ),
        ([bar("C4"), bar("D4", words("To Coda")), bar("E4", words("D.C."))], "CDECDE"),
        ([bar("C4"), bar("D4", sound(**{"forward-repeat": "yes"})), bar("E4", BACK)], "CDEDE"),
    ],
)
def test_jumps_by_sounds_signs_and_words(measures, expected):
    # common practice, no source
    assert sung(read(*measures)) == expected


def test_metres_change_and_additive_ones_are_summed():
    second = bar("D4", length=10, number=2, attributes="<time><beats>3+2</beats><beat-type>8</beat-type></time>")
    assert read(bar("C4"), second).metres == (Metre(Fraction(0), 4, 4), Metre(Fraction(4), 5, 8))


def test_a_metre_of_two_is_one_metre():
    time = "<time><beats>2</beats><beat-type>4</beat-type><beats>3</beats><beat-type>8</beat-type></time>"
    assert read(bar("C4", length=14), first=f"<divisions>4</divisions>{time}").metres == (Metre(Fraction(0), 7, 8),)


def test_free_metre_takes_the_bar_as_it_is():
    phrase = read(bar("C4", length=28), first="<divisions>4</divisions><time><senza-misura/></time>")
    assert (phrase.end, phrase.left_out) == (7, ())


def test_a_first_short_bar_is_a_pickup():
    phrase = read(bar("G4", length=4, number=0), bar("C4"), bar("D4", length=12, number=2))
    assert phrase.pickup == 1
    assert phrase.metres == (Metre(Fraction(0), 4, 4),)
    assert [event.onset for event in phrase.events] == [0, 1, 5]
    assert phrase.left_out == ()


def test_bars_that_do_not_add_up_are_named_and_keep_their_time():
    phrase = read(bar("C4"), bar("D4", length=12, number=2), bar("E4", length=18, number=3), bar("F4", number=4))
    assert [event.onset for event in phrase.events] == [0, 4, 7, Fraction(23, 2)]
    assert phrase.left_out == (
        LeftOut(
            "own-metre",
            Place(bar=2),
            1,
            values=(
                ("beats", "3"),
                ("metre", "4/4"),
            ),
        ),
        LeftOut(
            "own-metre",
            Place(bar=3),
            1,
            values=(
                ("beats", "9/2"),
                ("metre", "4/4"),
            ),
        ),
    )
    assert [(metre.count, metre.unit) for metre in phrase.metres] == [(4, 4), (3, 4), (9, 8), (4, 4)]


def test_an_empty_bar_lasts_its_metre():
    phrase = read(bar("C4"), measure(number=2), bar("D4", number=3))
    assert [event.onset for event in phrase.events] == [0, 8]


def test_a_rest_of_a_whole_bar_lasts_its_metre():
    first = "<divisions>4</divisions><time><beats>3</beats><beat-type>4</beat-type></time>"
    rest = measure('<note><rest measure="yes"/></note>', number=2)
    assert [e.onset for e in read(bar("C4", length=12), rest, bar("D4", length=12), first=first).events] == [0, 6]


def metronome(unit: str, rate: str, tail: str = "") -> str:
    inside = f"<metronome><beat-unit>{unit}</beat-unit>{tail}<per-minute>{rate}</per-minute></metronome>"
    return f"<direction-type>{inside}</direction-type>"


@pytest.mark.parametrize(
    ("mark", "bpm"),
    [
        ('<sound tempo="96.5"/>', 96.5),
        (direction(metronome("quarter", "80")), 80.0),
        (direction(metronome("quarter", "c. 60", "<beat-unit-dot/>")), 90.0),
        (direction(metronome("half", "60") + "<sound tempo='121'/>"), 121.0),
    ],
)
def test_tempo_marks(mark, bpm):
    assert read(bar("C4", before=mark)).tempos == (Tempo(Fraction(0), bpm),)


def test_a_tempo_changes_where_it_stands():
    late = direction("<direction-type><words>rit.</words></direction-type><sound tempo='60'/>", offset="4")
    second = measure(note("D4", 8), late, note("E4", 8), number=2)
    phrase = read(bar("C4", before='<sound tempo="120"/>'), second)
    assert phrase.tempos == (Tempo(Fraction(0), 120.0), Tempo(Fraction(7), 60.0))


def test_a_tempo_that_is_none_is_named():
    assert read(bar("C4", before='<sound tempo="99999"/>')).left_out == (
        LeftOut("strange-tempo", Place(bar=1), values=(("bpm", "99999"),)),
    )


SWING = "<sound><swing><first>{}</first><second>{}</second>{}</swing></sound>"


@pytest.mark.parametrize(
    ("mark", "swing"),
    [
        (direction(SWING.format(2, 1, "")), 2),
        (direction(SWING.format(3, 2, "<swing-type>eighth</swing-type>")), Fraction(3, 2)),
        (direction(SWING.format(2, 1, "<swing-type>16th</swing-type>")), 1),
        (direction("<sound><swing><straight/></swing></sound>"), 1),
        (words("Slow shuffle"), 2),
        (words("Straight eighths"), 1),
        (words("Slowly"), 1),
        ("", 1),
    ],
)
def test_swing(mark, swing):
    assert read(bar("C4", before=mark)).swing == swing


def test_rehearsal_marks_are_parts():
    def mark(name: str) -> str:
        return direction(f"<direction-type><rehearsal>{name}</rehearsal></direction-type>")

    phrase = read(bar("C4", before=mark("A")), bar("D4"), bar("E4", before=mark("B")))
    assert phrase.parts == (Part("A", Fraction(0), Fraction(8)), Part("B", Fraction(8), Fraction(12)))


def test_what_the_top_part_directs_holds_for_the_part_that_is_read():
    top = bar("C4", sound(dacapo="yes"), before='<sound tempo="77"/>')
    bass = [("Bass", measure(note("E2", 16), attributes=FIRST))]
    phrase = read(top, parts=bass, options={"part": "Bass"})
    assert phrase.tempos == (Tempo(Fraction(0), 77.0),)
    assert sung(phrase) == "EE"


@pytest.mark.parametrize(
    ("measures", "message"),
    [
        ([bar("C4", attributes="<time><beats>4</beats><beat-type>3</beat-type></time>")], "not a metre: 4/3"),
        ([bar("C4", attributes="<time><beats>x</beats><beat-type>4</beat-type></time>")], "not a metre: x/4"),
        ([bar("C4", attributes="<divisions>0</divisions>")], "<divisions> '0'"),
        ([measure(note("C4", "-4"))], "<duration> '-4'"),
        ([measure(note("C4", "nan"))], "<duration> 'nan'"),
        (
            [measure("<note><pitch><step>H</step><octave>4</octave></pitch><duration>4</duration></note>")],
            "without step",
        ),
        ([bar("C4", attributes="<key><fifths>12</fifths></key>")], "<key/fifths> '12'; -7 to 7 are allowed"),
    ],
)
def test_faults_are_named_by_their_bar(measures, message):
    with pytest.raises(ReadError, match=message.replace("/", "/")) as raised:
        read(*measures)
    assert in_english(raised.value.where) == "bar 1"


def test_a_document_that_is_no_score_is_refused():
    with pytest.raises(ReadError, match="not a score: the document is a <html>"):
        read_phrase(b"<html/>", format="musicxml")

"""Harmonica tab against published tables of what each hole sounds.

Sources: OEIS A291810 (H. Skjerning, 2017), semitones over hole 1 blow in the order 1 blow, 1 draw, 2 blow ...;
Bahnson, Antaki and Beery, J. Acoust. Soc. Am. 103, 1998 (bends lie between the two reeds of a hole; the table of
a C harp follows); German Wikipedia, "Richter-Harmonika" (H and B); fingerings that every player agrees on:
common practice, no source.
"""

import pytest

from reedpath.errors import ReadError
from reedpath.pitch import midi_name
from reedpath.readers import read_phrase

pytestmark = pytest.mark.outside

A291810 = (0, 2, 4, 7, 7, 11, 12, 14, 16, 17, 19, 21, 24, 23, 28, 26, 31, 29, 36, 33)


def midis(text: str, **options: str) -> list[int]:
    return [event.midi[0] for event in read_phrase(text.encode(), format="harmonica-tab", options=options).events]


@pytest.mark.parametrize(
    ("blow", "draw"),
    [("{}", "-{}"), ("+{}", "-{}"), ("{}B", "{}D"), ("{}S", "{}A"), ("{}B", "{}Z"), ("↑{}", "↓{}"), ("{}", "({})")],
)
@pytest.mark.parametrize(("harp", "root"), [("C", 60), ("G", 55), ("A", 57), ("Bb", 58), ("F#", 66)])
def test_the_layout_in_every_notation(blow, draw, harp, root):
    tab = " ".join(f"{blow.format(hole)} {draw.format(hole)}" for hole in range(1, 11))
    assert midis(f"harp: {harp}\nnames: English\n\n{tab}\n") == [root + step for step in A291810]


# hole, bends in semitones on the higher reed's breath, MIDI numbers on a C harp
BENDS = {
    "-1": (61,),
    "-2": (66, 65),
    "-3": (70, 69, 68),
    "-4": (73,),
    "-6": (80,),
    "8": (87,),
    "9": (90,),
    "10": (95, 94),
}
OVERBENDS = {"1o": 63, "4o": 75, "5o": 78, "6o": 82, "-7o": 85, "-9o": 92, "-10o": 97}


def test_bends_and_overbends_of_a_c_harp():
    for note, pitches in BENDS.items():
        tab = " ".join(note + "'" * depth for depth in range(1, len(pitches) + 1))
        assert midis(f"harp: C\nnotation: sign\n\n{tab}\n") == list(pitches)
        with pytest.raises(ReadError, match="only"):
            midis(f"harp: C\nnotation: sign\n\n{note}{chr(39) * (len(pitches) + 1)}\n")
    assert midis("harp: C\nnotation: sign\n\n" + " ".join(OVERBENDS) + "\n") == list(OVERBENDS.values())


@pytest.mark.parametrize("tab", ["-5'", "4'", "-9'", "1'", "-7'", "7'"])
def test_breath_and_bend_must_agree(tab):
    with pytest.raises(ReadError, match=r"no (draw|blow) bent 1 semitone here"):
        midis(f"harp: C\nnotation: sign\n\n{tab}\n")


@pytest.mark.parametrize(
    ("tab", "notes"),
    [
        ("4 -4 5 -5 6 -6 -7 7", "C5 D5 E5 F5 G5 A5 B5 C6"),
        ("1 -1 2 -2'' -2 -3'' -3 4", "C4 D4 E4 F4 G4 A4 B4 C5"),
        ("-2 -3' 4 -4' -4 -5 6", "G4 Bb4 C5 Db5 D5 F5 G5"),
        ("-2 -3'' -3 -4 5 6", "G4 A4 B4 D5 E5 G5"),
        ("-4 5 -5 6 -6 -7 7 -8", "D5 E5 F5 G5 A5 B5 C6 D6"),
        ("7 8' -9 9' 9 10'' 10", "C6 Eb6 F6 F#6 G6 Bb6 C7"),
    ],
)
def test_scales_that_every_player_knows(tab, notes):
    assert [midi_name(midi) for midi in midis(f"harp: C\nnotation: sign\n\n{tab}\n")] == notes.split()


def test_german_letters_for_keys_and_breath():
    # B is Blasen in the tab and B flat as a key; H is B natural
    assert midis("Mundharmonika: H\n\n4B 4Z 5B 5Z\n") == [71, 73, 75, 76]
    assert midis("Mundharmonika: B\n\n4B 4Z 5B 5Z\n") == [70, 72, 74, 75]

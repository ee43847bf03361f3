"""Standard MIDI: exact times, maps of tempo and metre, parts, channels and faults, in files of our own."""

from fractions import Fraction

import pytest

from reedpath.errors import NOWHERE, Place, ReadError
from reedpath.errors.english import in_english
from reedpath.phrase import LeftOut, Metre, Part, Phrase, Tempo
from reedpath.pitch import Key
from reedpath.readers import read_phrase
from reedpath.readers.midi import sniff_midi
from support.written_sources import midi_file, struck


def read(*tracks, form: int = 1, division: int = 480, options=None) -> Phrase:
    return read_phrase(midi_file(*tracks, form=form, division=division), format="midi", options=options)


def meta(tick: int, kind: int, content: bytes) -> tuple:
    return (tick, 0xFF, kind, content)


def tempo(tick: int, micros: int) -> tuple:
    return meta(tick, 0x51, micros.to_bytes(3, "big"))


def facts(phrase: Phrase) -> list[tuple[str, str, tuple[int, ...]]]:
    return [(str(event.onset), str(event.duration), event.midi) for event in phrase.events]


def test_times_are_exact_fractions_of_the_division():
    phrase = read([], struck(60, 0, 160) + struck(62, 160, 320) + struck(64, 320, 481))
    assert facts(phrase) == [("0", "1/3", (60,)), ("1/3", "1/3", (62,)), ("2/3", "161/480", (64,))]


@pytest.mark.parametrize("division", [1, 96, 120, 384, 32_767])
def test_any_division_is_a_quarter_note(division):
    assert facts(read([], struck(60, 0, division), division=division)) == [("0", "1", (60,))]


def test_notes_struck_and_ended_together_are_one_event():
    phrase = read([], struck(60, 0, 480) + struck(64, 0, 480) + struck(67, 0, 240))
    assert facts(phrase) == [("0", "1", (60, 64)), ("0", "1/2", (67,))]


def test_a_note_on_of_velocity_0_ends_its_note_and_running_status_is_kept():
    body = bytes((0, 0x90, 60, 80, 96, 60, 0, 0, 62, 80, 96, 62, 0, 0, 0xFF, 0x2F, 0))
    data = midi_file([], division=96)[:10] + b"\0\1\0\x60" + b"MTrk" + len(body).to_bytes(4, "big") + body
    assert facts(read_phrase(data)) == [("0", "1", (60,)), ("1", "1", (62,))]


def test_the_same_pitch_struck_twice_ends_in_order():
    phrase = read([], [(0, 0x90, 60, 80), (240, 0x90, 60, 80), (480, 0x80, 60, 0), (720, 0x80, 60, 0)])
    assert facts(phrase) == [("0", "1", (60,)), ("1/2", "1", (60,))]


def test_a_note_that_is_never_let_go_ends_with_its_track():
    phrase = read([], [(0, 0x90, 60, 80), *struck(64, 0, 480)])
    assert facts(phrase) == [("0", "1", (60, 64))]
    assert phrase.left_out == (LeftOut("notes-never-let-go", Place(track=2), 1),)


def test_a_note_without_duration_is_named():
    phrase = read([], [*struck(60, 0, 480), (480, 0x90, 62, 80), (480, 0x80, 62, 0)])
    assert facts(phrase) == [("0", "1", (60,))]
    assert phrase.left_out == (LeftOut("notes-without-duration", Place(track=2, channel=1), 1),)


def test_a_note_let_go_at_the_tick_before_it_is_struck_has_no_duration():
    upside_down = [(0, 0x80, 60, 0), (0, 0x90, 60, 80), *struck(60, 240, 480)]
    phrase = read([], upside_down)
    assert facts(phrase) == [("1/2", "1/2", (60,))]
    assert [each.what for each in phrase.left_out] == ["notes without duration"]


def test_letting_go_of_nothing_says_nothing():
    assert facts(read([], [(0, 0x80, 72, 0), *struck(60, 0, 480)])) == [("0", "1", (60,))]


def test_maps_of_tempo_metre_and_key():
    conductor = [
        meta(0, 0x03, b"Own song"),
        tempo(0, 666_667),
        tempo(480, 500_000),
        meta(0, 0x58, bytes((6, 3, 24, 8))),
        meta(1440, 0x58, bytes((4, 2, 24, 8))),
        meta(0, 0x59, bytes((0xFF, 1))),
    ]
    phrase = read(conductor, struck(62, 0, 1920))
    assert phrase.title == "Own song"
    assert phrase.tempos == (Tempo(Fraction(0), 90.0), Tempo(Fraction(1), 120.0))
    assert phrase.metres == (Metre(Fraction(0), 6, 8), Metre(Fraction(3), 4, 4))
    assert phrase.key == Key(2, "minor")


def test_a_file_that_says_nothing_leaves_the_phrase_to_its_defaults():
    phrase = read([], struck(60, 0, 480))
    assert (phrase.metres, phrase.tempos, phrase.key, phrase.title) == ((), (), None, "")


def test_maps_that_begin_late_begin_with_the_standards_defaults():
    phrase = read([tempo(480, 600_000), meta(480, 0x58, bytes((3, 2, 24, 8)))], struck(60, 0, 960))
    assert phrase.tempos == (Tempo(Fraction(0), 120.0), Tempo(Fraction(1), 100.0))
    assert phrase.metres == (Metre(Fraction(0), 4, 4), Metre(Fraction(1), 3, 4))


def test_maps_that_mean_nothing_are_named():
    conductor = [tempo(0, 0), meta(0, 0x58, bytes((0, 2, 24, 8))), meta(0, 0x59, bytes((9, 0))), meta(0, 0x51, b"x")]
    phrase = read(conductor, struck(60, 0, 480))
    assert [(each.what, each.count) for each in phrase.left_out] == [("tempos or signatures that mean nothing", 4)]


def test_markers_are_parts_to_the_next_one():
    conductor = [meta(0, 0x06, b"Verse"), meta(480, 0x06, b"Chorus"), meta(480, 0x05, b"la")]
    phrase = read(conductor, struck(60, 0, 960))
    assert phrase.parts == (Part("Verse", Fraction(0), Fraction(1)), Part("Chorus", Fraction(1), Fraction(2)))


BAND = (
    [],
    [meta(0, 0x03, b"Drums"), *struck(36, 0, 480, channel=9)],
    [meta(0, 0x03, b"Guitar"), *struck(64, 0, 480, channel=2), *struck(67, 480, 960, channel=3)],
    [meta(0, 0x03, b"Bass"), *struck(40, 0, 960, channel=1)],
)


def test_the_first_track_that_is_no_drums_is_read_with_all_its_channels():
    phrase = read(*BAND)
    assert facts(phrase) == [("0", "1", (64,)), ("1", "1", (67,))]
    assert phrase.left_out == (LeftOut("drums", NOWHERE, 1), LeftOut("part", NOWHERE, 1, values=(("name", "Bass"),)))


@pytest.mark.parametrize(
    ("options", "expected"),
    [
        ({"part": "Bass"}, [("0", "2", (40,))]),
        ({"part": 4}, [("0", "2", (40,))]),
        ({"part": "Guitar", "channel": 4}, [("1", "1", (67,))]),
        ({"channel": "2"}, [("0", "2", (40,))]),
        ({"channel": 10}, [("0", "1", (36,))]),
    ],
)
def test_parts_and_channels_are_chosen(options, expected):
    assert facts(read(*BAND, options=options)) == expected


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ({"part": "Horn"}, "no notes in the part"),
        ({"part": 1}, "no notes in the part"),
        ({"channel": 17}, "there is no channel 17, only 1 to 16"),
        ({"channel": "x"}, "no channel x"),
    ],
)
def test_parts_and_channels_that_are_not_there_are_refused(options, message):
    with pytest.raises(ReadError, match=message):
        read(*BAND, options=options)


def test_a_file_of_format_0_gives_its_first_channel_without_drums():
    track = struck(36, 0, 240, channel=9) + struck(60, 0, 480, channel=5) + struck(72, 0, 480, channel=7)
    phrase = read(track, form=0)
    assert facts(phrase) == [("0", "1", (60,))]
    assert [each.what for each in phrase.left_out] == ["part track 1, channel 8", "drums"]


def test_only_drums_are_an_empty_phrase_that_says_so():
    phrase = read([], struck(36, 0, 480, channel=9))
    assert (phrase.events, phrase.left_out) == ((), (LeftOut("drums", NOWHERE, 1),))


def test_pedal_modulation_and_lyrics_are_named():
    track = [(0, 0xB0, 64, 127), (0, 0xB0, 1, 30), meta(0, 0x05, b"la"), *struck(60, 0, 480)]
    assert {each.what for each in read([], track).left_out} == {"pedal", "modulation", "lyrics"}


def test_a_wrapped_file_is_read():
    inner = midi_file([], struck(60, 0, 480))
    size = len(inner).to_bytes(4, "little")
    wrapped = b"RIFF" + (len(inner) + 12).to_bytes(4, "little") + b"RMIDdata" + size + inner
    assert facts(read_phrase(wrapped)) == [("0", "1", (60,))]


GOOD = midi_file([], struck(60, 0, 480))


def changed(at: int, content: bytes) -> bytes:
    return GOOD[:at] + content + GOOD[at + len(content) :]


@pytest.mark.parametrize(
    ("data", "message", "where"),
    [
        (b"MThx" + GOOD[4:], "does not begin with MThd", "byte 0"),
        (GOOD[:9], "header breaks off", "byte 9"),
        (changed(4, b"\0\0\0\5"), "a header of 5 bytes", "byte 4"),
        (changed(4, b"\xff\xff\xff\xff"), "a header of 4,294,967,295 bytes", "byte 4"),
        (changed(8, b"\0\2"), "format 2", "byte 8"),
        (changed(12, b"\xe7\x28"), r"frames of film \(SMPTE\)", "byte 12"),
        (changed(12, b"\0\0"), "0 ticks", "byte 12"),
        (changed(10, b"\0\7"), "2 tracks, where the header says 7", f"byte {len(GOOD)}"),
        (changed(18, b"\0\0\xff\xff"), "a chunk of 65,535 bytes", "byte 18"),
        (GOOD[:-3], "a chunk of", "byte 30"),
        (changed(35, b"\x3c"), "data byte 0x3c where a message must begin", "byte 35"),
        (changed(35, b"\xf4"), "a status 0xf4", "byte 35"),
        (changed(36, b"\xbc"), "a data byte over 127", "byte 36"),
        (changed(34, b"\xff\xff\xff\xff\xff"), "a number of over 4 bytes", "byte 34"),
        (changed(35, b"\xff\x01\x70"), "a meta event of 112 bytes", "byte 38"),
    ],
)
def test_faults_are_named_by_their_byte(data, message, where):
    with pytest.raises(ReadError, match=message) as raised:
        read_phrase(data, format="midi")
    assert in_english(raised.value.where) == where


def test_alien_chunks_and_trailing_bytes_are_passed_over():
    alien = GOOD[:14] + b"XFIH\0\0\0\2ab" + GOOD[14:] + b"\0\0"
    assert facts(read_phrase(alien)) == [("0", "1", (60,))]


def test_a_track_without_its_end_is_read():
    body = b"".join(bytes(part) for part in ((0, 0x90, 60, 80), (96, 0x80, 60, 0)))
    data = b"MThd\0\0\0\6\0\0\0\1\0\x60MTrk" + len(body).to_bytes(4, "big") + body
    assert facts(read_phrase(data)) == [("0", "1", (60,))]


def test_system_messages_are_passed_over():
    body = b"\0\xf0\3\1\2\xf7" + bytes((0, 0x90, 60, 80, 96, 0x80, 60, 0, 0, 0xFF, 0x2F, 0))
    data = b"MThd\0\0\0\6\0\0\0\1\0\x60MTrk" + len(body).to_bytes(4, "big") + body
    assert facts(read_phrase(data)) == [("0", "1", (60,))]


def test_a_note_far_away_is_refused():
    with pytest.raises(ReadError, match="too long: 250,000 beats; at most 20,000 allowed"):
        read([], struck(60, 249_999, 250_000), division=1)


def test_sniffing():
    assert sniff_midi(GOOD) == 1.0
    assert sniff_midi(b"RIFF....WAVE") == 0.0
    assert sniff_midi(b"MTrk") == 0.0


def test_the_title_is_not_the_name_of_a_track_of_drums_or_of_another_part():
    drums = [meta(0, 0x03, b"Kit"), (0, 0x99, 38, 80), (480, 0x89, 38, 0)]
    assert read(drums, [meta(0, 0x03, b"Lead"), *struck(60, 0, 480)]).title == ""
    one, two = [meta(0, 0x03, b"Bass"), *struck(40, 0, 480)], [meta(0, 0x03, b"Lead"), *struck(60, 0, 480)]
    assert read(one, two).title == "Bass"
    assert read(one, two, options={"part": 2}).title == ""


@pytest.mark.parametrize("name", ["part", "track"])
def test_a_track_is_chosen_by_either_name(name):
    assert facts(read(struck(40, 0, 480), struck(60, 0, 480), options={name: 2})) == [("0", "1", (60,))]

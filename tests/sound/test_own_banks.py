"""A sound bank of the user's own: made here from scratch, chosen for the band, and told what is wrong with it.

The layout of a bank is that of the "SoundFont Technical Specification", version 2.04 (2006): the numbers of sections
stand beside the checks.
"""

from __future__ import annotations

import struct

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.errors import SoundError
from reedpath.signal import Samples, encode
from reedpath.sound import Backing, backing_blocks, lay_out_backing, play_with_band
from reedpath.sound.band import BandNote, BandPart, check_bank, sound_part
from reedpath.sound.band.sampler import sample_note
from reedpath.sound.band.soundfont import open_bank, points_of, program_in, zones_of
from reedpath.wording import error_hint, error_words, load_catalogue
from support.built_routes import built_lesson, built_route
from support.examples import examples
from support.tiny_bank import RATE, SILENT_POINTS, sine, tiny_bank, write_bank

ROOT, MODES, SAMPLE = 58, 54, 53
ZONES = [{ROOT: 69, MODES: 1, SAMPLE: 0}]
# bits of a sample's kind: in a synthesizer's memory (section 7.10); packed in Ogg Vorbis (version 3, a custom)
ROM, PACKED = 0x8000, 0x10
# bytes of a sample's header, where its kind lies in it, and its four places (section 7.10)
HEADER_BYTES, KIND_AT, PLACES_AT = 46, 44, 20


def chunk_at(data: bytes, name: bytes) -> tuple[int, int]:
    """Where a chunk's content begins, and its length (section 3.1)."""
    at = data.index(name) + 8
    return at, struct.unpack_from("<I", data, at - 4)[0]


def with_bytes(data: bytes, at: int, new: bytes) -> bytes:
    return data[:at] + new + data[at + len(new) :]


def small_bank(**more: object) -> bytes:
    return tiny_bank(ZONES, [sine(440.0)], **more)


def whole_bank(*, kit: bool = True, programs: tuple[int, ...] = (0, 26, 33)) -> bytes:
    """One instrument as a piano, a guitar, a bass and a drum kit: more headers of presets on one zone."""
    data = small_bank()
    at, _ = chunk_at(data, b"phdr")
    rows = [(program, 0) for program in programs] + ([(0, 128)] if kit else [])
    presets = b"".join(struct.pack("<20sHHHIII", b"preset", *row, index, 0, 0, 0) for index, row in enumerate(rows))
    presets += struct.pack("<20sHHHIII", b"EOP", 0, 0, len(rows), 0, 0, 0)
    bag = b"".join(struct.pack("<HH", index, 0) for index in range(len(rows) + 1))
    gen = struct.pack("<HH", 41, 0) * len(rows) + bytes(4)
    out = data[: at - 8] + b"phdr" + struct.pack("<I", len(presets)) + presets
    for name, body in ((b"pbag", bag), (b"pmod", bytes(10)), (b"pgen", gen)):
        out += name + struct.pack("<I", len(body)) + body
    rest = data[data.index(b"inst" + struct.pack("<I", 44)) :]
    out += rest
    # the two lists around it are longer now
    grown = len(out) - len(data)
    for list_at in (4, data.rindex(b"LIST", 0, at) + 4):
        (was,) = struct.unpack_from("<I", out, list_at)
        out = with_bytes(out, list_at, struct.pack("<I", was + grown))
    return out


def lesson():
    route = built_route("2d 3d' 4b 4d' 4d:1 r:1 5d 4d 4b 3d' 2d:1 r:1", key="A", bpm=120.0)
    return built_lesson(route, factors=(1.0,))


@pytest.mark.slow
def test_a_bank_of_ones_own_is_what_the_band_plays(tmp_path):
    own = write_bank(tmp_path, whole_bank())
    given = lesson()
    backing = Backing(rounds=1, bank=own)
    made = play_with_band(given, given.ladder[0], backing)
    told = play_with_band(given, given.ladder[0], Backing(rounds=1), bank=own)
    assert np.array_equal(made.array, told.array)
    blocks = np.concatenate([one.array for one in backing_blocks(lay_out_backing(given, given.ladder[0], backing))])
    assert np.abs(blocks - made.array).max() < 1e-3


def test_the_nearest_program_of_a_family_is_taken_and_any_kit(tmp_path):
    bank = open_bank(write_bank(tmp_path, whole_bank(programs=(1, 24, 31, 38))))
    assert [program_in(bank, program) for program in (0, 26, 28, 33)] == [1, 24, 31, 38]
    assert program_in(bank, 60) is None
    assert program_in(bank, 5, drums=True) == 0
    assert program_in(open_bank(write_bank(tmp_path, small_bank())), 0, drums=True) is None


def part(name: str, program: int, *, drums: bool = False) -> BandPart:
    return BandPart(name, program, -24.0, (BandNote(0.1, 0.4, 60, 100),), drums)


def test_a_bank_without_drums_or_a_player_is_refused_in_both_languages(tmp_path):
    path = write_bank(tmp_path, whole_bank(kit=False, programs=(33,)))
    check_bank(path, [part("bass", 33)])
    with pytest.raises(SoundError) as found:
        check_bank(path, [part("bass", 33), part("drums", 0, drums=True)])
    assert str(found.value) == f"{path}: the sound bank has no drum kit"
    assert "--without drums" in (error_hint(found.value, load_catalogue("fr")) or "")
    with pytest.raises(SoundError, match=r"nothing for the player 'guitar' \(General MIDI 25 to 32\)") as found:
        check_bank(path, [part("guitar", 26)])
    assert "« guitar »" in error_words(found.value, load_catalogue("fr")).replace("\u202f", " ").replace("\xa0", " ")


def test_it_is_refused_before_anything_is_sounded(tmp_path):
    given = lesson()
    with pytest.raises(SoundError, match="no drum kit"):
        lay_out_backing(given, given.ladder[0], Backing(bank=write_bank(tmp_path, whole_bank(kit=False))))
    made = lay_out_backing(
        given,
        given.ladder[0],
        Backing(bank=write_bank(tmp_path, whole_bank(kit=False)), without=frozenset({"drums"})),
    )
    assert made.bank is not None


WRONG = {
    "a sound": (encode(Samples(np.zeros(2000), RATE)), "it is another kind of file"),
    "text": (b"RIFF and so on, and on, and on", "it is another kind of file"),
    "nothing": (b"", "it is another kind of file"),
    "cut": (small_bank()[:-30], "it is shorter than it says"),
    "cut in its samples": (small_bank()[:2000], "it is shorter than it says"),
    # a part that says it is as long as the size of a chunk can say (section 3.1)
    "too long": (
        with_bytes(small_bank(), chunk_at(small_bank(), b"smpl")[0] - 4, b"\xff\xff\xff\xff"),
        "it is shorter than it says",
    ),
    "no presets": (small_bank().replace(b"phdr", b"xxxx"), "its part phdr is missing"),
    "no samples": (small_bank().replace(b"smpl", b"xxxx"), "its part smpl is missing"),
    # the row of an instrument's first zone (section 7.6), and the sample that a zone names (section 8.1.2)
    "zones that are not there": (
        with_bytes(small_bank(), chunk_at(small_bank(), b"inst")[0] + 42, b"\xff\xff"),
        "its tables point to what is not there",
    ),
    "a sample that is not there": (
        with_bytes(small_bank(), chunk_at(small_bank(), b"igen")[0] + 10, b"\x07\x00"),
        "its tables point to what is not there",
    ),
}


@pytest.mark.parametrize("name", WRONG)
def test_what_is_wrong_with_a_file_is_told_in_both_languages(tmp_path, name):
    data, problem = WRONG[name]
    path = tmp_path / "mine.sf2"
    path.write_bytes(data)
    with pytest.raises(SoundError) as found:
        open_bank(path)
    assert str(found.value) == f"{path}: not a sound bank that can be read: {problem}"
    french = error_words(found.value, load_catalogue("fr"))
    assert "cette banque de sons ne se lit pas" in french
    assert problem not in french


def test_a_file_that_is_not_there_or_is_a_folder_is_told(tmp_path):
    for path in (tmp_path / "none.sf2", tmp_path):
        with pytest.raises(SoundError, match="there is no sound bank of that name"):
            open_bank(path)


def with_kind(data: bytes, kind: int) -> bytes:
    return with_bytes(data, chunk_at(data, b"shdr")[0] + KIND_AT, struct.pack("<H", kind))


def test_a_sample_in_a_synthesizers_memory_is_left_out(tmp_path):
    bank = open_bank(write_bank(tmp_path, with_kind(small_bank(), ROM | 1)))
    assert zones_of(bank, 0, 69, 100) == ()
    assert not len(sample_note(bank, 0, 69, 100, 300).sound)


def packed_bank() -> bytes:
    """The bank with its sample packed: places in bytes, the loop counted from the sample's start."""
    data = with_kind(small_bank(), PACKED | 1)
    packed = encode(Samples(sine(440.0), RATE), format="ogg")
    at, length = chunk_at(data, b"smpl")
    packed += bytes(len(packed) & 1)
    points = len(sine(440.0))
    header = chunk_at(data, b"shdr")[0] + PLACES_AT
    data = with_bytes(data, header, struct.pack("<IIII", 0, len(packed), points // 4, 3 * points // 4))
    grown = len(packed) - length
    out = data[: at - 4] + struct.pack("<I", len(packed)) + packed + data[at + length :]
    for list_at in (4, data.index(b"LIST", data.index(b"LIST") + 4) + 4):
        (was,) = struct.unpack_from("<I", out, list_at)
        out = with_bytes(out, list_at, struct.pack("<I", was + grown))
    return out


def test_samples_packed_in_vorbis_sound_as_they_do_unpacked(tmp_path):
    plain = open_bank(write_bank(tmp_path, small_bank()))
    packed = open_bank(write_bank(tmp_path, packed_bank()))
    (zone,) = zones_of(packed, 0, 69, 100)
    assert len(points_of(packed, zone)) == len(sine(440.0))
    one, other = (sample_note(bank, 0, 69, 100, 1500).sound for bank in (plain, packed))
    assert one.shape == other.shape
    assert np.corrcoef(one[:, 0], other[:, 0])[0, 1] > 0.999


def test_a_packed_sample_that_is_none_is_told(tmp_path):
    data = with_kind(small_bank(), PACKED | 1)
    bank = open_bank(write_bank(tmp_path, data))
    with pytest.raises(SoundError, match="one of its samples is not an Ogg Vorbis sound"):
        zones_of(bank, 0, 69, 100)


@pytest.mark.slow
@given(data=st.data())
@examples(150, fixture=True)
def test_a_bank_hurt_anywhere_sounds_or_is_told(tmp_path, data):
    hurt = whole_bank()
    body = len(hurt) - len(sine(440.0)) * 2 - SILENT_POINTS * 2
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, body - 1))
        # the samples themselves may be anything
        at = at if at < chunk_at(whole_bank(), b"smpl")[0] else at + len(hurt) - body
        hurt = with_bytes(hurt, at, bytes([data.draw(st.sampled_from([0, 1, 0x7F, 0x80, 0xFF]))]))
    path = write_bank(tmp_path, hurt)
    try:
        sounds = [
            sound_part(one, seconds=0.5, rate=44_100, bank=path)
            for one in (part("piano", 0), part("d", 0, drums=True))
        ]
    except SoundError:
        return
    assert all(np.all(np.isfinite(sound)) for sound in sounds)

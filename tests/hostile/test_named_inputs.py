"""Inputs by name that once were a fault of the program, took all memory, or were judged two ways."""

from __future__ import annotations

import io
import json
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile
from hypothesis import example, given, settings
from hypothesis import strategies as st

from fuzzing import media, seeds
from reedpath.arrange import find_route, load_player, survey, trade_off
from reedpath.errors import PhraseError, ReadError, ReedpathError, SettingsError, SoundError, TuningError
from reedpath.harp import harp_names, make_harp, parse_scl, parse_temperament, parse_tuning
from reedpath.lesson import Lesson, decode_lesson, encode_lesson, format_steps, make_lesson
from reedpath.page import encode_handout, encode_lesson_page, encode_musicxml, format_tab
from reedpath.phrase import Event, Ornaments, Phrase, Tempo, decode_phrase
from reedpath.pitch import parse_key
from reedpath.readers import read_phrase
from reedpath.signal import decode, open_blocks
from reedpath.sound import Backing, lay_out, lay_out_backing, lay_out_spot
from reedpath.wording import load_catalogue
from support.phrases import phrase_of
from support.work import calls_of

# calls that a chord of many notes may take to arrange: some thousand times fewer than its subsets
MOST_CALLS = 3_000_000


def changed(data: bytes, *path: str | int, to: Any) -> bytes:
    """A JSON file with one value of it another."""
    plain = json.loads(data)
    inside = plain
    for step in path[:-1]:
        inside = inside[step]
    inside[path[-1]] = to
    return json.dumps(plain).encode()


def phrase_with(*path: str | int, to: Any) -> bytes:
    return changed(seeds.phrases()[0], "phrase", *path, to=to)


def lesson_with(*path: str | int, to: Any) -> bytes:
    return changed(seeds.lessons()[0], *path, to=to)


@pytest.mark.parametrize(
    ("path", "value", "told"),
    [
        (("tempos", 0, "bpm"), 0.001, r"phrase\.tempos\[0\]\.bpm.*too low"),
        (("tempos", 0, "bpm"), 1e-300, r"phrase\.tempos\[0\]\.bpm.*too low"),
        (("tempos", 0, "bpm"), 10**400, r"phrase\.tempos\[0\]\.bpm"),
        (("events", 0, "midi"), [10**400], "midi|out of range|not JSON"),
        (("events", 0, "duration_beats"), "9" * 401, r"events\[0\]\.duration_beats.*fraction"),
        (("events", 0, "duration_beats"), "9" * 5_000, r"events\[0\]\.duration_beats.*fraction"),
        (("events", 8, "onset_beats"), "999999999999999999", r"events\[8\]\.onset_beats.*too high: 1,000,000"),
        (("events", 0, "duration_beats"), "1/999999999999999989", r"events\[0\]\.duration_beats.*no common division"),
        (("events", 1, "ornaments", "bend_in_semitones"), "999999", r"bend_in_semitones.*too high: 120 at most"),
        (("pickup_beats",), "-1", r"phrase\.pickup_beats.*too low: 0 at least"),
        (("pickup_beats",), "999999999999", r"phrase\.pickup_beats.*too high"),
        (("swing",), "-1", r"phrase\.swing.*too low: 1/100 at least"),
        (("metres",), [{"onset_beats": "0", "count": 256, "unit": 4}], r"metres\[0\]\.count.*255 at most"),
        (("events", 1, "duration_beats"), "50000", "over 40,000 beats"),
        (("metres",), [{"onset_beats": str(beat), "count": 3, "unit": 4} for beat in (0, 6, 3)], "order of onset"),
        (("tempos",), [{"onset_beats": str(beat), "bpm": 90} for beat in (3, 0)], "order of onset"),
        (("parts", 0, "end_beats"), "-1", r"parts\[0\]\.end_beats"),
        (("parts", 0, "onset_beats"), "9", r"parts\[0\]\.end_beats.*ends at beat 4, before it begins at 9"),
        (("title",), "\ud800", "surrogate"),
    ],
)  # fmt: skip
def test_a_kept_phrase_that_cannot_be_is_refused_by_its_field(
    path: tuple[str | int, ...], value: Any, told: str
) -> None:
    with pytest.raises(ReedpathError, match=told):
        read_phrase(phrase_with(*path, to=value), format="phrase-json")


@pytest.mark.parametrize(
    ("path", "value", "told"),
    [
        (("route", "harp", "tuning", "blow", 0), 10**9, r"route\.harp\.tuning\.blow\[0\].*too high: 127 at most"),
        (("ladder", 0, "name"), "allegrissimo", r"ladder\[0\]\.name"),
        (("route", "phrase", "tempos", 0, "bpm"), 0.001, r"route\.phrase\.tempos\[0\]\.bpm.*too low"),
        (("route", "phrase", "pickup_beats"), "-1", r"route\.phrase\.pickup_beats.*too low"),
        (("title",), "\ud800", "surrogate"),
    ],
)  # fmt: skip
def test_a_lesson_that_cannot_be_is_refused_by_its_field(path: tuple[str | int, ...], value: Any, told: str) -> None:
    with pytest.raises(ReadError, match=told):
        decode_lesson(lesson_with(*path, to=value))


@pytest.mark.parametrize("digits", [401, 4_000, 5_000])
def test_toml_integers_of_many_digits_are_refused(digits: int) -> None:
    number = "9" * digits
    with pytest.raises(TuningError):
        parse_tuning(f'blow = [{number}]\ndraw = ["D4"]', name="own")
    with pytest.raises(TuningError):
        parse_temperament(f"cents_off_equal = [{number}, {'0, ' * 11}]", name="own")
    with pytest.raises(TuningError):
        parse_temperament(f"ratios = {{4 = {number}}}", name="own")


def test_a_low_harp_whose_tuning_reaches_too_high_for_others_is_taught() -> None:
    """A reed that lies at 120 on a Low F harp would lie at 132 on the F harp."""
    tuning = parse_tuning('key_note = "C4"\nblow = ["C4", "F9"]\ndraw = ["D4", "G9"]\n', name="own")
    lesson = make_lesson(find_route(phrase_of("c4 1/4 d4"), make_harp("Low F", tuning)))
    assert "Take the Low F harp in this tuning: own." in format_steps(lesson)
    with pytest.raises(TuningError, match="outside 0 to 127"):
        make_harp("F", tuning)


def test_titles_of_additions_hold_no_escape_codes() -> None:
    tuning = parse_tuning('title = "\\u001b[31mred"\nblow = ["C4"]\ndraw = ["D4"]\n', name="o\x1b[2Jwn")
    assert (tuning.title, tuning.name) == ("red", "own")
    temperament = parse_scl("own\x1b[31m scale\n1\n2/1\n", name="own")
    assert temperament.title == "own scale"
    assert "\x1b" not in temperament.source


def test_a_name_too_long_for_a_file_is_unknown(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("REEDPATH_FOLDER", str(tmp_path))
    for name in ("x" * 5_000, "a\0b"):
        with pytest.raises(SettingsError, match="there is no level named"):
            load_player(name)


def test_a_title_with_a_backslash_is_what_it_was_everywhere() -> None:
    title = "AC\\DC riff \\1 \\g<0>"
    phrase = read_phrase(f"X:1\nT:{title}\nM:4/4\nL:1/4\nK:G\nGBdg|\n".encode(), format="abc")
    lesson, catalogue = make_lesson(find_route(phrase, make_harp("G"))), load_catalogue("en")
    assert lesson.title == title
    assert decode_lesson(encode_lesson(lesson)).title == title
    assert title in format_tab(lesson, catalogue=catalogue)
    for made in (encode_lesson_page(lesson, sounds=()), encode_musicxml(lesson, catalogue=catalogue)):
        assert "AC\\DC riff \\1 \\g&lt;0&gt;" in made.decode()
    assert encode_handout(lesson, catalogue=catalogue).startswith(b"%PDF")


def slow_lesson() -> Lesson:
    phrase = phrase_of("c5 1/4 d5 e5 g5", key="C", tempos=(Tempo(Fraction(0), 0.01),))
    return make_lesson(find_route(phrase, make_harp("C")))


def test_letters_that_pass_for_others_are_read_as_those() -> None:
    """A Turkish capital i, a dotless i and a long s match i and s where case does not matter."""
    assert parse_key("ſol mİneur") == parse_key("sol mineur")
    assert make_harp("la aİgu") == make_harp("la aigu")
    assert harp_names("mı, Hİgh G, sİ") == ("E", "High G", "B")
    for text in ("h ſ e", "ſ"):
        with pytest.raises(ReedpathError):
            read_phrase(f"harp: C\n\n{text}\n".encode(), format="harmonica-tab")


def test_sounds_of_hours_are_refused_before_they_are_made() -> None:
    lesson = slow_lesson()
    for layout in (lay_out, lay_out_backing):
        with pytest.raises(SoundError, match=r"would last .* minutes: 120 at most"):
            layout(lesson, lesson.ladder[0])
    with pytest.raises(SoundError, match="would last"):
        lay_out_spot(lesson, 0, 1, lesson.ladder[0])
    assert Backing().rounds


def test_an_m4a_hurt_in_its_index_is_damaged() -> None:
    whole = media.film("ipod", "aac", None)
    with pytest.raises(SoundError, match="damaged"):
        open_blocks(whole.replace(b"stsd", b"stsx"))


@pytest.mark.parametrize("rate", [1, 1_999, 768_001])
def test_a_rate_that_no_recording_has_is_refused(rate: int) -> None:
    sink = io.BytesIO()
    soundfile.write(sink, media.tone().array, rate, format="WAV", subtype="PCM_16")
    with pytest.raises(SoundError, match=f"a rate of {rate:,} Hz: 2,000 to 768,000"):
        open_blocks(sink.getvalue())


@pytest.mark.parametrize("value", [1e30, -1e30, float("nan"), float("inf"), float("-inf"), 3e38])
def test_samples_that_no_sound_has_are_silence_or_cut_off(value: float, tmp_path: Path) -> None:
    from reedpath.jobs import HearingChoice, write_down_recording

    samples = media.tone().array.copy()
    samples[1_000:1_100] = value
    sink = io.BytesIO()
    soundfile.write(sink, samples, media.RATE, format="WAV", subtype="FLOAT")
    heard = decode(sink.getvalue()).array
    assert np.isfinite(heard).all()
    assert np.abs(heard).max() <= 1_000
    assert np.array_equal(heard[:1_000], samples[:1_000])
    path = tmp_path / "take.wav"
    path.write_bytes(sink.getvalue())
    write_down_recording(path, HearingChoice())


extreme = st.integers(0, 127)
ornaments = st.builds(
    Ornaments,
    bend_in=st.sampled_from((Fraction(0), Fraction(1), Fraction(120))),
    release=st.sampled_from((Fraction(0), Fraction(2))),
    slide_from=st.none() | extreme,
    slide_to=st.none() | extreme,
    graces=st.lists(extreme, max_size=2).map(tuple),
)


@st.composite
def extreme_phrases(draw: st.DrawFn) -> Phrase:
    chords = draw(
        st.lists(st.lists(extreme, min_size=1, max_size=6, unique=True).map(sorted), min_size=1, max_size=5)
    )
    return Phrase(
        tuple(Event(Fraction(index), Fraction(1), tuple(midi), draw(ornaments)) for index, midi in enumerate(chords))
    )


@pytest.mark.slow
@given(extreme_phrases(), st.sampled_from(("C", "Low F", "High G")), st.booleans())
@example(Phrase((Event(Fraction(0), Fraction(1), (0,)),)), "C", False)
@example(Phrase((Event(Fraction(0), Fraction(1), (127,)),)), "Low F", True)
@example(Phrase((Event(Fraction(0), Fraction(1), (60,), Ornaments(slide_to=127, graces=(0,))),)), "C", True)
@settings(max_examples=60, deadline=None, derandomize=True)
def test_what_a_survey_ranks_is_arranged_and_taught(phrase: Phrase, key: str, any_key: bool) -> None:
    shifts = range(-24, 25) if any_key else (0, -12, 12, -24, 24)
    found = survey(phrase, [make_harp(key)], shifts=shifts, top=3)
    assert found.ranked
    for line in found.ranked:
        route = line.route()
        assert route.effort.total == pytest.approx(line.effort.total)
        assert find_route(phrase, line.harp, shift_semitones=line.shift_semitones).truth == pytest.approx(line.truth)
    lesson = make_lesson(found.ranked[0].route())
    assert decode_lesson(encode_lesson(lesson)).route.phrase == lesson.route.phrase
    assert trade_off(phrase, make_harp(key), shifts=(0, 12, -12))


def test_a_shift_beyond_midi_is_refused_by_all_alike() -> None:
    phrase = phrase_of("c9 1/4 e9")
    for ask in (
        lambda: survey(phrase, shifts=(24,)),
        lambda: find_route(phrase, make_harp("C"), shift_semitones=24),
        lambda: trade_off(phrase, make_harp("C"), shifts=(24,)),
    ):
        with pytest.raises(PhraseError, match="moved by 24 semitones"):
            ask()


def test_notes_struck_together_take_work_in_proportion() -> None:
    cluster = Phrase((Event(Fraction(0), Fraction(1), tuple(range(128))),))
    assert calls_of(lambda: find_route(cluster, make_harp("C"))) < MOST_CALLS


def test_a_phrase_that_was_kept_is_the_one_that_is_read() -> None:
    assert decode_phrase(seeds.phrases()[0]) == seeds.phrase()

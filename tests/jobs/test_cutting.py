"""Raw footage: what is proposed to stay of a teacher's film, and the film that is cut of it."""

from __future__ import annotations

import shutil
from pathlib import Path

import av
import numpy as np
import pytest

from reedpath.data import replace
from reedpath.errors import FilmError, ReedpathError
from reedpath.film import CutKind, CutWhy, FilmCut, TakeWishes, decode_cut, encode_cut
from reedpath.film.cut_plays import plays_in_cut
from reedpath.jobs import CutProposal, line_up_take, make_cut_film, propose_cut, read_cut
from support.pieces import porch
from support.teacher_films import RATE, FilmMade, playing, quiet, talk, write_film

pytestmark = pytest.mark.slow

SMALL = FilmMade(size=(320, 180), fps=15)
LESSON = porch()


@pytest.fixture(scope="module")
def raw(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Talk, a false start, once more and spoilt, once more and right; silence; talk; at full tempo."""
    path = tmp_path_factory.mktemp("raw") / "raw.mp4"
    sound = [
        quiet(2.0), talk(2.5, 1), quiet(1.0), playing(LESSON, 0, events=5), quiet(1.0), talk(1.0, 2), quiet(1.0),
        playing(LESSON, 0, wrong=True), quiet(3.0), playing(LESSON, 0), quiet(4.0), talk(2.0, 4), quiet(1.0),
        playing(LESSON, -1), quiet(2.0),
    ]  # fmt: skip
    write_film(path, np.concatenate(sound), SMALL)
    return path


@pytest.fixture(scope="module")
def proposed(raw: Path) -> CutProposal:
    return propose_cut(LESSON, [raw])


def _facts(path: Path) -> tuple[float, float, int]:
    """Length of the pictures and of the sound in seconds, and how many pictures there are."""
    with av.open(str(path)) as film:
        pictures = [float(one.pts * one.time_base) for one in film.decode(video=0)]
    with av.open(str(path)) as film:
        sound = sum(one.samples for one in film.decode(audio=0)) / film.streams.audio[0].rate
    return pictures[-1], sound, len(pictures)


def test_of_what_is_played_again_the_best_stays(proposed: CutProposal) -> None:
    played = [piece for piece in proposed.cut.pieces if piece.kind is CutKind.PLAY]
    assert [piece.why for piece in played][-3:] == [CutWhy.ANOTHER, CutWhy.BEST, CutWhy.ONLY]
    assert played[0].why is CutWhy.FALSE_START
    assert [piece.keep for piece in played] == [False] * (len(played) - 2) + [True, True]
    assert played[-1].tempo_factor == pytest.approx(1.0, abs=0.05)


def test_talk_stays_but_between_takes_and_silence_goes(proposed: CutProposal) -> None:
    talked = [piece for piece in proposed.cut.pieces if piece.kind is CutKind.TALK]
    assert [piece.why for piece in talked] == [CutWhy.TALK, CutWhy.BETWEEN, CutWhy.TALK]
    assert talked[0].start_seconds == pytest.approx(1.7, abs=0.2)
    assert talked[0].end_seconds == pytest.approx(4.8, abs=0.3)
    silent = [piece for piece in proposed.cut.pieces if piece.kind is CutKind.SILENCE]
    assert silent
    assert not any(piece.keep for piece in silent)


def test_stretches_lie_side_by_side_over_the_whole_film(proposed: CutProposal) -> None:
    ends = [0.0, *(piece.end_seconds for piece in proposed.cut.pieces)]
    starts = [*(piece.start_seconds for piece in proposed.cut.pieces), proposed.cut.lengths[0]]
    assert starts == pytest.approx(ends, abs=0.03)
    assert decode_cut(encode_cut(proposed.cut)) == proposed.cut


def test_the_film_is_cut_and_heard_again_where_it_is_shown(proposed: CutProposal, raw: Path, tmp_path: Path) -> None:
    written = make_cut_film(LESSON, [raw], TakeWishes(), tmp_path / "out.mp4", cut=proposed.cut, plays=proposed.plays)
    assert {"out.mp4", "out.cut.json", "out.en.vtt", "out.png"} <= set(written.files)
    pictures, sound, _ = _facts(tmp_path / "out.mp4")
    assert pictures == pytest.approx(proposed.cut.seconds, abs=0.2)
    assert sound == pytest.approx(proposed.cut.seconds, abs=0.05)
    heard = line_up_take(tmp_path / "out.mp4", LESSON).play_throughs
    meant = plays_in_cut(proposed.cut, proposed.plays)
    assert len(heard) == len(meant) == 2
    for one, other in zip(heard, meant, strict=True):
        assert one.start_seconds == pytest.approx(other.start_seconds, abs=0.04)
        assert one.end_seconds == pytest.approx(other.end_seconds, abs=0.15)
    assert read_cut(tmp_path / "out.cut.json") == proposed.cut


def test_a_cut_corrected_by_hand_is_obeyed(proposed: CutProposal, raw: Path, tmp_path: Path) -> None:
    """All that is played stays, in another order, from two files that are the same."""
    shutil.copy(raw, tmp_path / "again.mp4")
    length = proposed.cut.lengths[0]
    last = next(piece for piece in reversed(proposed.cut.pieces) if piece.kind is CutKind.PLAY)
    first = replace(proposed.cut.pieces[1], start_seconds=2.0, end_seconds=4.0, keep=True)
    cut = FilmCut(("again.mp4", "raw.mp4"), (length, length), (replace(last, film=1), first))
    films, plays = [tmp_path / "again.mp4", raw], [proposed.plays[0]] * 2
    make_cut_film(LESSON, films, TakeWishes("beside"), tmp_path / "out" / "two.mp4", cut=cut, plays=plays)
    pictures, sound, count = _facts(tmp_path / "out/two.mp4")
    assert sound == pytest.approx(last.seconds + 2.0, abs=0.05)
    assert pictures == pytest.approx(last.seconds + 2.0, abs=0.2)
    assert count == pytest.approx(15 * (last.seconds + 2.0), abs=3)


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"keep": False}, "film.cut_empty"),
        ({"start_seconds": 5.0, "end_seconds": 4.0}, "film.cut_outside"),
        ({"end_seconds": 5000.0}, "film.cut_outside"),
        ({"film": 1}, "film.cut_no_film"),
    ],
)
def test_what_is_no_cut_is_refused(proposed: CutProposal, change: dict, key: str) -> None:
    wrong = replace(proposed.cut, pieces=(replace(proposed.cut.pieces[1], **({"keep": True} | change)),))
    with pytest.raises(FilmError) as told:
        decode_cut(encode_cut(wrong))
    assert told.value.key == key


def test_a_stretch_is_shown_again_whole_or_not_at_all(proposed: CutProposal) -> None:
    piece = replace(proposed.cut.pieces[1], keep=True)
    again = replace(proposed.cut, pieces=(piece, piece))
    assert decode_cut(encode_cut(again)) == again
    part = replace(piece, start_seconds=piece.start_seconds + 0.1)
    with pytest.raises(FilmError) as told:
        decode_cut(encode_cut(replace(proposed.cut, pieces=(piece, part))))
    assert told.value.key == "film.cut_twice"


def test_a_file_that_is_no_cut_is_named(tmp_path: Path) -> None:
    (tmp_path / "my.cut.json").write_text('{"schema": "reedpath/cut", "version": 1, "films": []}')
    with pytest.raises(ReedpathError) as told:
        read_cut(tmp_path / "my.cut.json")
    assert told.value.where.file.endswith("my.cut.json")


def test_a_film_whose_header_says_no_length_is_read(tmp_path: Path) -> None:
    """As browsers record: WebM that was written without going back."""
    from reedpath.film import film_seconds

    made = write_film(tmp_path / "whole.mkv", talk(3.0, 1), FilmMade(size=(160, 90), fps=15, sound="aac"))
    with (
        av.open(str(tmp_path / "whole.mkv")) as film,
        av.open(str(tmp_path / "live.mkv"), "w", options={"live": "1"}) as live,
    ):
        streams = {stream.index: live.add_stream_from_template(stream) for stream in film.streams}
        for packet in film.demux():
            if packet.dts is not None:
                packet.stream = streams[packet.stream.index]
                live.mux(packet)
    with av.open(str(tmp_path / "live.mkv")) as film:
        assert film.duration is None
    assert film_seconds(tmp_path / "live.mkv") == pytest.approx(made, abs=0.1)
    assert RATE

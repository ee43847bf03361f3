"""Writing into folders: nothing of hers is lost, nothing of ours is half there, whenever it stops."""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from reedpath.errors import SettingsError
from reedpath.jobs.folder_plans import LIST, made_files
from reedpath.jobs.folders import UNFINISHED, writing_into
from support.stopped_writings import stopped

FIRST = {"tab.txt": "tab 1", "steps.md": "steps 1", "slow.wav": "slow 1"}
SECOND = {"tab.txt": "tab 2", "steps.md": "steps 2", "full.wav": "full 2"}
HERS = {"notes.txt": "my notes", "takes/week-1.wav": "a take", "Documents/letter.txt": "a letter"}


def write(folder: Path, files: dict[str, str], command: str = "lesson", *, anew: bool = True) -> dict[str, str]:
    with writing_into(folder, command=command, anew=anew) as writing:
        for name, text in files.items():
            (writing.files / name).write_text(text)
    return dict(writing.written.kept)


def put(folder: Path, files: dict[str, str]) -> None:
    for name, text in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text)


def files_of(folder: Path) -> dict[str, str]:
    """All that is in a folder but the list."""
    paths = (path for path in sorted(folder.rglob("*")) if path.is_file() and path.name != LIST)
    return {str(path.relative_to(folder)): path.read_text() for path in paths}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    write(tmp_path / "lesson", FIRST)
    return tmp_path / "lesson"


def test_a_new_folder_has_what_was_made_and_its_list(folder: Path) -> None:
    assert files_of(folder) == FIRST
    assert set(made_files(folder)) == set(FIRST)
    assert [path.name for path in folder.parent.iterdir()] == ["lesson"]


def test_what_was_made_before_is_replaced_and_all_else_stays(folder: Path) -> None:
    put(folder, HERS)
    assert write(folder, SECOND) == {}
    assert files_of(folder) == SECOND | HERS


def test_what_was_edited_is_kept_beside_the_new_and_named(folder: Path) -> None:
    put(folder, {"steps.md": "in my words"})
    assert write(folder, SECOND) == {"steps.md": "steps.kept.md"}
    assert files_of(folder) == SECOND | {"steps.kept.md": "in my words"}
    put(folder, {"steps.md": "again in my words"})
    assert write(folder, FIRST) == {"steps.md": "steps.kept-2.md"}
    assert files_of(folder) == FIRST | {"steps.kept.md": "in my words", "steps.kept-2.md": "again in my words"}


def test_what_was_edited_and_is_not_made_again_stays(folder: Path) -> None:
    put(folder, {"slow.wav": "played by me"})
    write(folder, SECOND)
    assert files_of(folder) == SECOND | {"slow.wav": "played by me"}


def test_a_file_that_stands_in_the_way_is_kept(folder: Path, tmp_path: Path) -> None:
    put(folder, {"full.wav": "hers"})
    (tmp_path / "elsewhere.md").write_text("hers, elsewhere")
    (folder / "steps.md").unlink()
    (folder / "steps.md").symlink_to(tmp_path / "elsewhere.md")
    assert write(folder, SECOND) == {"full.wav": "full.kept.wav", "steps.md": "steps.kept.md"}
    assert files_of(folder)["full.kept.wav"] == "hers"
    assert (folder / "steps.kept.md").is_symlink()
    assert (tmp_path / "elsewhere.md").read_text() == "hers, elsewhere"


def test_a_folder_that_stands_in_the_way_is_kept(folder: Path) -> None:
    put(folder, {"full.wav/inside.txt": "hers"})
    assert write(folder, SECOND) == {"full.wav": "full.kept.wav"}
    assert files_of(folder) == SECOND | {"full.kept.wav/inside.txt": "hers"}


def test_commands_do_not_remove_one_another_s_files(folder: Path) -> None:
    write(folder, {"band.mp3": "band"}, command="play-along")
    write(folder, SECOND)
    assert files_of(folder) == SECOND | {"band.mp3": "band"}
    assert {name: made.command for name, made in made_files(folder).items()}["band.mp3"] == "play-along"


def test_in_a_folder_that_is_not_ours_nothing_is_replaced_but_by_request(tmp_path: Path) -> None:
    put(tmp_path, HERS | {"tab.txt": "hers"})
    with pytest.raises(SettingsError, match=r"tab.txt: there is a file of that name"):
        write(tmp_path, FIRST)
    assert files_of(tmp_path) == HERS | {"tab.txt": "hers"}
    with writing_into(tmp_path, command="film", replace=True) as writing:
        (writing.files / "tab.txt").write_text("a film's")
    assert files_of(tmp_path) == HERS | {"tab.txt": "a film's"}
    assert not (tmp_path / LIST).exists()


def test_files_made_before_stay_unless_all_is_made_anew(folder: Path) -> None:
    write(folder, {"full.wav": "full 2"}, anew=False)
    assert files_of(folder) == FIRST | {"full.wav": "full 2"}


def test_a_link_stays_a_link_and_its_target_is_written(folder: Path, tmp_path: Path) -> None:
    link = tmp_path / "link"
    link.symlink_to(folder)
    write(link, SECOND)
    assert link.is_symlink()
    assert files_of(folder) == SECOND


def test_where_one_stands_can_be_written(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(folder)
    write(Path(), SECOND)
    assert files_of(folder) == SECOND


def test_a_file_in_the_folder_s_place_is_refused(tmp_path: Path) -> None:
    (tmp_path / "lesson").write_text("hers")
    with pytest.raises(SettingsError, match="there is a file of that name"):
        write(tmp_path / "lesson", FIRST)
    assert (tmp_path / "lesson").read_text() == "hers"


def test_who_may_not_write_leaves_no_trace(folder: Path) -> None:
    def refuse(there: Path) -> None:
        raise SettingsError("jobs.file_in_the_way")

    before = files_of(folder)
    with pytest.raises(SettingsError), writing_into(folder, command="lesson", may_write=refuse):
        pass
    assert files_of(folder) == before
    assert sorted(path.name for path in folder.iterdir()) == sorted([*FIRST, LIST])


@pytest.mark.parametrize("failure", [KeyboardInterrupt, ValueError, OSError])
@pytest.mark.parametrize("is_new", [True, False])
def test_a_failure_on_the_way_leaves_all_as_it_was(
    tmp_path: Path, failure: type[BaseException], is_new: bool
) -> None:
    folder = tmp_path / "deep" / "lesson"
    if not is_new:
        write(folder, FIRST)

    def failing() -> None:
        with writing_into(folder, command="lesson") as writing:
            (writing.files / "tab.txt").write_text("half")
            raise failure

    with pytest.raises(SettingsError if failure is OSError else failure):
        failing()
    assert files_of(tmp_path) == ({} if is_new else {f"deep/lesson/{name}": text for name, text in FIRST.items()})
    assert list(tmp_path.rglob("*unfinished*")) == []
    assert is_new is not folder.parent.exists()


def test_a_second_run_at_the_same_moment_is_told(folder: Path) -> None:
    with writing_into(folder, command="lesson", anew=True) as writing:
        (writing.files / "tab.txt").write_text("tab 2")
        with pytest.raises(SettingsError, match="another run is writing into this folder"):
            write(folder, SECOND)
    assert files_of(folder) == {"tab.txt": "tab 2"}


def _stop_points(make: Callable[[Path], None], tmp_path: Path) -> int:
    """How many changes of the disk a writing makes."""
    make(tmp_path / "counted")
    done = stopped(0, "not", tmp_path / "counted", SECOND)
    return int(done.stdout.split()[1])


def _taught(folder: Path) -> None:
    write(folder, FIRST)
    put(folder, HERS | {"steps.md": "in my words"})


@pytest.mark.slow
def test_killed_at_any_moment_nothing_is_lost_and_the_next_run_heals(tmp_path: Path) -> None:
    points = _stop_points(_taught, tmp_path)
    assert points > 5
    for at in range(1, points + 1):
        folder = tmp_path / f"lesson-{at}"
        _taught(folder)
        assert stopped(at, "killed", folder, SECOND).returncode == -signal.SIGKILL
        there = {text for name, text in files_of(folder).items()}
        assert {*HERS.values(), "in my words"} <= there
        with writing_into(folder, command="film") as writing:
            pass
        assert writing.written.healed
        after = files_of(folder)
        kept = SECOND | HERS | {"steps.kept.md": "in my words"}
        assert after in (FIRST | HERS | {"steps.md": "in my words"}, kept)
        assert not (folder / UNFINISHED).exists()


@pytest.mark.slow
def test_a_full_disk_at_any_moment_leaves_all_as_it_was(tmp_path: Path) -> None:
    points = _stop_points(_taught, tmp_path)
    for at in range(1, points + 1):
        folder = tmp_path / f"lesson-{at}"
        _taught(folder)
        before = files_of(folder)
        ended = stopped(at, "full", folder, SECOND)
        # a second name that the disk refuses is made up for by a copy
        if "done" in ended.stdout:
            assert files_of(folder) == SECOND | HERS | {"steps.kept.md": "in my words"}
        else:
            assert "No space left on device" in ended.stderr
            assert files_of(folder) == before
        assert not (folder / UNFINISHED).exists()


@pytest.mark.slow
def test_a_new_folder_killed_at_any_moment_is_whole_or_not_there(tmp_path: Path) -> None:
    for at in range(1, 4):
        folder = tmp_path / f"new-{at}"
        stopped(at, "killed", folder, SECOND)
        assert not folder.exists() or files_of(folder) == SECOND
        write(folder, FIRST)
        assert files_of(folder) == FIRST
        assert [path.name for path in tmp_path.glob(".new*")] == []


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_a_request_to_end_waits_until_the_plan_is_carried_out(folder: Path, number: signal.Signals) -> None:
    heard = []
    before = signal.signal(number, lambda *_: heard.append(number))
    real, ending = os.replace, []

    def replacing(*given: str) -> None:
        if not ending:
            ending.append(True)
            os.kill(os.getpid(), number)
            assert heard == []
        real(*given)

    try:
        with pytest.MonkeyPatch.context() as patched:
            patched.setattr(os, "replace", replacing)
            write(folder, SECOND)
    finally:
        signal.signal(number, before)
    assert heard == [number]
    assert files_of(folder) == SECOND


@pytest.mark.skipif(sys.platform in {"darwin", "win32"}, reason="names are text there")
def test_names_that_are_no_text_are_listed_and_planned_like_others(tmp_path):
    strange = os.fsdecode(b"f\xe9.txt")
    folder = tmp_path / os.fsdecode(b"le\xe7on")
    for content in (b"one", b"two"):
        with writing_into(folder, command="lesson") as writing:
            (writing.files / strange).write_bytes(content)
            (writing.files / "bytes:6f.txt").write_bytes(content)
        assert set(writing.written.files) == {strange, "bytes:6f.txt"}
        assert set(made_files(folder)) == {strange, "bytes:6f.txt"}
        assert (folder / strange).read_bytes() == content
        assert writing.written.kept == {}
    (folder / strange).write_bytes(b"mine")
    with writing_into(folder, command="lesson") as writing:
        (writing.files / strange).write_bytes(b"three")
    assert (folder / writing.written.kept[strange]).read_bytes() == b"mine"


def test_a_name_that_looks_like_bytes_is_a_name(folder: Path) -> None:
    write(folder, {"bytes:6f6e65": "1"})
    assert set(made_files(folder)) == {"bytes:6f6e65"}
    assert write(folder, {"bytes:6f6e65": "2"}) == {}
    assert files_of(folder) == {"bytes:6f6e65": "2"}

"""What `import reedpath` shows: its page's examples run, nothing is imported before it is asked for."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from importlib.resources import files
from pathlib import Path

import pytest

import reedpath
from support.built_routes import built_route

PAGE = Path(__file__).parents[2] / "docs" / "api.md"
EXAMPLES = re.findall(r"```python\n(.*?)```", PAGE.read_text(encoding="utf-8"), flags=re.DOTALL)


@pytest.mark.slow
def test_the_examples_of_the_page_run(tmp_path, monkeypatch, capsys):
    shutil.copy(str(files("reedpath.jobs") / "demo" / "two-questions.txt"), tmp_path)
    monkeypatch.chdir(tmp_path)
    told, names = [], {}
    for example in EXAMPLES:
        exec(compile(example, str(PAGE), "exec"), names)
        told.append(capsys.readouterr().out)
    tab, read, ranked, many, effort, typed, settled, pinned, lesson, joined, answer, error = told
    assert "A harp, second position" in tab
    assert read.split() == ["Little", "Steps", "(invented)", "5"]
    assert ranked.splitlines()[0].split()[0] in {"A", "D"}
    assert re.match(r"Little Steps \(invented\) [AD] \d+ \d\.\d+ (first-months|easy)\n\[\]\n$", many)
    assert len(effort.splitlines()) == 5
    assert typed == "Low F ['-2', '+3', '+4', '-4']\n"
    assert settled.splitlines()[1].startswith("+2/5 [")
    assert "Pin(event=" in pinned
    assert "['chart.svg', 'lesson.html', 'lesson.json']" in lesson
    assert (tmp_path / "little-steps" / "sheet.pdf").is_file()
    assert joined == "['1-little-steps-easily', '2-little-steps']\n"
    assert "play-through" in answer
    assert (tmp_path / "answer" / "answer.txt").is_file()
    assert "there is no harp named 'J'" in error


def test_every_name_is_on_the_page_and_says_what_it_does():
    text = PAGE.read_text(encoding="utf-8")
    for name in reedpath.__all__:
        assert f"reedpath.{name}" in text or f"`{name}`" in text
        assert getattr(reedpath, name).__doc__


def test_importing_the_package_imports_no_room():
    code = "import sys, reedpath; print(*[m for m in sys.modules if m.startswith('reedpath.') or m == 'numpy'])"
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert out.split() == ["reedpath.lazy_faces"]


@pytest.mark.slow
def test_reading_and_arranging_loads_no_engraver_and_no_sound():
    phrase = str(files("reedpath.jobs") / "demo" / "two-questions.txt")
    code = (
        f"import sys, reedpath; reedpath.format_tab(reedpath.find_route(reedpath.read({phrase!r})));"
        "heavy = {'scipy', 'av', 'PIL', 'verovio', 'typst', 'soundfile', 'mido'};"
        "print(*{name.partition('.')[0] for name in sys.modules} & heavy)"
    )
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout == "\n"


def test_lessons_are_joined_in_their_order_and_what_does_not_go_together_is_told():
    def lesson(title, **named):
        route = built_route("2d 3d 4b:2", key=named.pop("key", "A"))
        return reedpath.make_lesson(route, title=title, **named)

    one, two, three = lesson("One"), lesson("Two"), lesson("Three", key="D")
    joined = reedpath.join_lessons([one, two, three], fillers={1: 0})
    assert (joined.title, joined.play_through) == ("One and Three", (0, 2))
    assert [piece.folder for piece in joined.pieces] == ["1-one", "2-two", "3-three"]
    assert [piece.variant_of for piece in joined.pieces] == [None, 0, None]
    assert reedpath.join_lessons([one, two], title="Both", in_a_row=False).play_through == ()
    for lessons, named, says in (
        ([], {}, "at least one piece"),
        ([one, two], {"levels": {0: 1}}, "there is no earlier piece that"),
        ([one, two], {"fillers": {1: 7}}, "there is no earlier piece that"),
        ([one, lesson("Deux", languages=["fr"])], {}, "other languages"),
    ):
        with pytest.raises(reedpath.ReedpathError, match=says):
            reedpath.join_lessons(lessons, **named)

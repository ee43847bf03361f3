"""Rules of the house that a machine can hold, read from the source itself (docs/house.md)."""

from __future__ import annotations

import ast
import importlib.util
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from reedpath.lazy_faces import shown_names
from support.source_trees import MODULES, SOURCE, nodes_of, tree_of

ROOT = Path(__file__).parents[2]
PURE = ("pitch", "harp", "phrase", "harmony", "hear", "arrange", "wording", "lesson", "listen")
DRAWERS = {"utils", "helpers", "common", "misc", "base", "core", "manager"}
UNITLESS = {"time", "pitch", "tempo", "duration", "freq", "frequency"}
HEAVY = ("music21", "symusic", "mido", "verovio", "typst", "soundfile", "soxr", "av", "PIL", "scipy")

PURE_MODULES = [path for path in MODULES if path.relative_to(SOURCE).parts[0] in PURE]


def name_of(path: Path) -> str:
    return str(path.relative_to(SOURCE))


def test_no_folder_or_module_is_a_drawer():
    assert [name_of(path) for path in MODULES if path.stem in DRAWERS or set(path.parts) & {"utils", "misc"}] == []


def test_pure_rooms_open_nothing():
    opening = {"open", "print", "input", "eval", "exec", "__import__"}
    found = [
        f"{name_of(path)}:{node.lineno} {node.func.id}"
        for path in PURE_MODULES
        for node in nodes_of(path)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in opening
    ]
    assert found == []


def test_every_module_has_a_headline():
    assert [name_of(path) for path in MODULES if not ast.get_docstring(tree_of(path))] == []


def test_only_the_registry_and_the_faces_import_by_name():
    found = [
        name_of(path) for path in MODULES
        if "import_module(" in path.read_text(encoding="utf-8") and path.name not in {"registry.py", "lazy_faces.py"}
    ]  # fmt: skip
    assert found == []


LAZY_FACES = [
    ".".join(("reedpath", *path.relative_to(SOURCE).parts[:-1])) for path in MODULES
    if path.name == "__init__.py" and "lazy_face(" in path.read_text(encoding="utf-8")
]  # fmt: skip


@pytest.mark.parametrize("face", LAZY_FACES)
def test_a_lazy_face_shows_what_it_lists_and_no_module_hides_a_name(face):
    module = importlib.import_module(face)
    shown = shown_names(face)
    assert set(shown) <= set(module.__all__)
    assert all(hasattr(module, name) for name in module.__all__)
    assert [name for name in shown if importlib.util.find_spec(f"{face}.{name}")] == []
    for name, home in shown.items():
        assert getattr(module, name) is getattr(importlib.import_module(home), name)
    with pytest.raises(AttributeError, match="no attribute 'nothing_of_the_kind'"):
        module.nothing_of_the_kind  # noqa: B018


def test_faces_list_their_names_in_order():
    faces = [path for path in MODULES if path.name == "__init__.py" and path.parent != SOURCE]
    lists = [
        (name_of(path), ast.literal_eval(node.value))
        for path in faces
        for node in tree_of(path).body
        if isinstance(node, ast.Assign) and getattr(node.targets[0], "id", "") == "__all__"
    ]
    assert len(lists) > 10
    for face, names in lists:
        # as ruff sorts them: constants, classes, the rest
        assert names == sorted(names, key=lambda n: (not n.isupper(), not n[0].isupper(), n)), face


def test_only_faces_list_what_they_show():
    # a list inside a room is kept by nobody: a third of them were wrong
    found = [
        name_of(path) for path in MODULES if path.name != "__init__.py" and "\n__all__ = " in path.read_text("utf-8")
    ]
    assert found == []


def test_numbers_say_their_unit():
    found = [
        f"{name_of(path)}: {node.name} takes {a.arg} without a unit"
        for path in PURE_MODULES
        for node in nodes_of(path)
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_")
        for a in (*node.args.args, *node.args.kwonlyargs)
        if a.arg in UNITLESS and a.annotation is not None and ast.unparse(a.annotation) in {"float", "int"}
    ]
    assert found == []


@pytest.mark.parametrize("room", PURE)
def test_importing_a_pure_room_pulls_in_nothing_heavy(room):
    allowed = {"scipy"} if room in {"hear", "listen"} else set()
    code = f"import sys, reedpath.{room}; print(*[m for m in {HEAVY!r} if m in sys.modules])"
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert set(out.split()) <= allowed


def test_help_imports_neither_arrays_nor_engravers():
    code = (
        "import sys\nfrom reedpath.cli import main\n"
        "try:\n main(['--help'])\nexcept SystemExit: pass\n"
        f"print('HEAVY', *[m for m in {('numpy', *HEAVY)!r} if m in sys.modules])"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert out.rstrip().endswith("HEAVY")


# a command, and how many modules of ours it may enter; what it enters decides how soon it answers (bench/startup.py)
ENTERED = [
    (["--help"], 12),
    (["arrange", "--nonsense"], 25),
    (["harp", "A"], 75),
    (["shelf", "list"], 60),
    (["survey", "{phrase}"], 105),
    (["arrange", "{phrase}"], 130),
]


@pytest.mark.parametrize(("arguments", "most"), ENTERED, ids=str)
def test_commands_that_make_no_sound_and_no_picture_enter_little(arguments, most):
    phrase = SOURCE / "jobs" / "demo" / "two-questions.txt"
    code = (
        "import sys\nfrom reedpath.cli import main\n"
        f"try:\n main({[text.format(phrase=phrase) for text in arguments]!r})\nexcept SystemExit: pass\n"
        "print('ENTERED', *sys.modules)"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    entered = out[out.rindex("ENTERED") :].split()
    heavy = {*HEAVY, "mido", "pydantic", "rich", "typer", "hypothesis", "ssl"}
    assert heavy & {name.partition(".")[0] for name in entered} == set()
    assert len([name for name in entered if name.partition(".")[0] == "reedpath"]) <= most


def test_every_data_file_parses():
    for path in SOURCE.rglob("*.toml"):
        tomllib.loads(path.read_text(encoding="utf-8"))


def commands() -> list[str]:
    """Names of the commands that the command line has."""
    text = (SOURCE / "cli" / "commands.py").read_text(encoding="utf-8")
    return re.findall(r'@app.(?:command|group)\("([a-z-]+)"\)', text)


@pytest.mark.parametrize(
    ("document", "words"),
    [
        ("docs/arranging.md", lambda: [f"`{term.name}`" for term in __import__("reedpath.arrange").arrange.TERMS]),
        ("docs/house.md", lambda: [f"`{p.name}`" for p in SOURCE.iterdir() if (p / "__init__.py").exists()]),
        ("docs/json.md", lambda: [f"reedpath {name}" for name in commands() if name not in {"demo", "slow"}]),
        ("README.md", lambda: [f"reedpath {name}" for name in commands() if name not in {"align", "slow"}]),
        ("CHANGELOG.md", lambda: [f"`reedpath {name}`" for name in commands()]),
    ],
)
def test_documents_know_what_ships(document, words):
    text = (ROOT / document).read_text(encoding="utf-8")
    assert [word for word in words() if word not in text] == []


def test_the_house_plan_names_files_that_are_there():
    text = (ROOT / "docs/house.md").read_text(encoding="utf-8")
    named = re.findall(r"`(?:src/reedpath/)?([\w/]+/[\w/]+\.(?:py|toml))`", text)
    assert len(named) > 20
    assert [one for one in named if not (SOURCE / one).exists() and not (ROOT / one).exists()] == []


def test_what_scripts_and_documents_name_of_tests_and_benches_is_there():
    saying = [ROOT / "README.md", ROOT / "CONTRIBUTING.md", ROOT / "pyproject.toml", ROOT / ".ci" / "run"]
    saying += [*(ROOT / "docs").glob("*.md"), *(path for path in (ROOT / "scripts").iterdir() if path.is_file())]
    named = {
        name
        for path in saying
        for name in re.findall(r"\b(?:tests|bench|scripts)/[\w/]+\.py\b", path.read_text(encoding="utf-8"))
    }
    assert len(named) > 20
    assert sorted(name for name in named if not (ROOT / name).exists()) == []


def test_a_class_name_means_one_thing():
    found: dict[str, list[str]] = {}
    for path in MODULES:
        for node in nodes_of(path):
            if isinstance(node, ast.ClassDef):
                found.setdefault(node.name, []).append(str(path.relative_to(SOURCE)))
    assert {name: paths for name, paths in found.items() if len(paths) > 1} == {}

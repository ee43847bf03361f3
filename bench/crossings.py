"""What three whole jobs cross of the code: ``python bench/crossings.py``.

Each job runs by the command line in a process of its own; a module is entered when one of its functions runs (what is
only imported does not count). Printed for each job: rooms, modules and their lines, and the classes defined in them.
"""

from __future__ import annotations

import ast
import json
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
TAB = ROOT / "examples" / "shuffle-in-e.txt"
# runs a command while every function that is called notes the file it stands in
WATCH = """
import json, os, sys, threading
import reedpath
home = os.path.dirname(reedpath.__file__) + os.sep
entered = set()
def watch(frame, event, argument):
    if event == "call":
        name = frame.f_code.co_filename
        if name.startswith(home) and frame.f_code.co_name not in ("<module>", "<listcomp>", "<genexpr>") and not (
            frame.f_back is not None and frame.f_back.f_code.co_name == "<module>"
        ):
            entered.add(name[len(home):])
from reedpath.cli import main
threading.setprofile(watch)
sys.setprofile(watch)
try:
    main(sys.argv[2:])
except SystemExit as ended:
    assert not ended.code, ended.code
finally:
    sys.setprofile(None)
    json.dump(sorted(entered), open(sys.argv[1], "w"))
"""


def entered(*arguments: str) -> list[Path]:
    """Modules whose functions a command runs."""
    with tempfile.NamedTemporaryFile(suffix=".json") as told:
        subprocess.run([sys.executable, "-c", WATCH, told.name, *arguments], check=True, stdout=subprocess.DEVNULL)
        names = json.loads(Path(told.name).read_text())
    import reedpath

    home = Path(reedpath.__file__).parent
    return [home / name for name in names]


def crossed(files: list[Path]) -> str:
    """Rooms, modules, lines and classes of the files, as a row."""
    import reedpath

    home = Path(reedpath.__file__).parent
    texts = [file.read_text(encoding="utf-8") for file in files]
    classes = sum(isinstance(node, ast.ClassDef) for text in texts for node in ast.walk(ast.parse(text)))
    rooms = {file.relative_to(home).parts[0] for file in files}
    return f"{len(rooms)} | {len(files)} | {sum(text.count(chr(10)) for text in texts):,} | {classes}"


def main() -> None:
    """Run the three jobs and print the table."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "lesson"
        print("| job | rooms | modules | lines | classes |\n|---|---|---|---|---|")
        files = entered("lesson", str(TAB), "--harp", "A", "--out", str(folder))
        print(f"| fret tab to lesson | {crossed(files)} |")
        take = next(folder.glob("play-along-*-full*.wav"), None) or sorted(folder.glob("*.wav"))[-1]
        files = entered("listen", str(take), "--lesson", str(folder), "--out", f"{name}/answer")
        print(f"| take to answer | {crossed(files)} |")
        files = entered("film", str(folder), "--out", f"{name}/film.mp4", "--tempos", "full", "--no-steps")
        print(f"| lesson to film | {crossed(files)} |")
    import reedpath

    home = Path(reedpath.__file__).parent
    print(f"| all of it | {crossed(sorted(home.rglob('*.py')))} |")


if __name__ == "__main__":
    main()

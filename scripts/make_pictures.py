"""Draw the gallery anew: ``python scripts/make_pictures.py`` writes docs/pictures/*.svg.

The tests compare these files with what the code draws. Look at a picture before you keep it.
"""

from __future__ import annotations

import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "tests"))

from support.pictures import PICTURES  # noqa: E402  (the tests' folder must be found first)


def main() -> None:
    """Write every picture of the gallery, and remove those that it no longer has."""
    folder = ROOT / "docs" / "pictures"
    folder.mkdir(parents=True, exist_ok=True)
    for name, draw in PICTURES.items():
        (folder / f"{name}.svg").write_text(draw(), encoding="utf-8")
    for old in folder.glob("*.svg"):
        if old.stem not in PICTURES and old.stem.startswith(("ribbon-", "chart-")):
            old.unlink()
    sys.stdout.write(f"{len(PICTURES)} pictures in {folder}\n")


if __name__ == "__main__":
    main()

"""Write the JSON Schemas anew: ``python scripts/make_schemas.py`` makes docs/schema/*.json from the types.

The tests compare these files with what the types say.
"""

from __future__ import annotations

import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "tests"))

from support.schemas import FOLDER, schema_text, schemas  # noqa: E402  (the tests' folder must be found first)


def main() -> None:
    """Write every schema."""
    for name, schema in schemas().items():
        (FOLDER / name).write_text(schema_text(schema), encoding="utf-8")


if __name__ == "__main__":
    main()

"""One kind of hostile input under atheris, which sees every branch of a function where bench/fuzz.py sees its lines.

pip install -e '.[fuzz]'
python bench/fuzz_guided.py abc                          from the seeds of that kind, until it is stopped
python bench/fuzz_guided.py abc --runs 100000 --folder .fuzz

Half of the inputs are changed as bench/fuzz.py changes them, half as the engine does. It stops at the first defect
and writes the input down; what leads further is kept in the corpus that bench/fuzz.py has in the same folder.
"""

from __future__ import annotations

import argparse
import random
import sys
from contextlib import suppress
from pathlib import Path

import atheris

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT / "bench")]

with atheris.instrument_imports(include=["reedpath"]):
    from fuzzing.feeding import MOST_MEMORY, MOST_SECONDS, digest
    from fuzzing.mutation import Changer, changed
    from fuzzing.targets import TARGETS, target_of
    from reedpath.errors import ReedpathError


def main() -> None:
    """Feed one kind until a defect, or so many inputs."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("kind", choices=[one.name for one in TARGETS])
    parser.add_argument("--runs", type=int, default=-1)
    parser.add_argument("--folder", type=Path, default=ROOT / ".fuzz")
    asked = parser.parse_args()
    target = target_of(asked.kind)
    seeds = target.seeds()
    corpus = asked.folder / "corpus" / target.name
    corpus.mkdir(parents=True, exist_ok=True)

    def feed(data: bytes) -> None:
        with suppress(ReedpathError):
            target.read(data)

    def change(data: bytes, most_bytes: int, seed: int) -> bytes:
        draw = random.Random(seed)
        if draw.random() < 0.5:
            return bytes(atheris.Mutate(data, most_bytes))
        return changed(bytes(data), target.changes, Changer(draw, target.tokens, seeds))[:most_bytes]

    with atheris.instrument_imports(include=["reedpath"]):  # rooms import most modules when they are first used
        for seed in seeds:
            feed(seed)
            (corpus / digest(seed)).write_bytes(seed)
    limits = (
        f"-runs={asked.runs}",
        f"-timeout={MOST_SECONDS}",
        f"-rss_limit_mb={MOST_MEMORY >> 20}",
        "-max_len=60000",
    )
    found = f"-artifact_prefix={asked.folder}/"
    atheris.Setup([sys.argv[0], *limits, found, str(corpus)], feed, custom_mutator=change)
    atheris.Fuzz()


if __name__ == "__main__":
    main()

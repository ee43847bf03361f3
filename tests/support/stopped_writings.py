"""A writing into a folder that is stopped at a change of the disk, in a process of its own."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path

# runs a writing in which the n-th change of the disk is the last: by a kill, or by an error of the disk
STOPPED = """
import os, sys
from pathlib import Path
from reedpath.jobs.folders import writing_into

at, how, folder = int(sys.argv[1]), sys.argv[2], Path(sys.argv[3])
count = 0
def counted(act):
    def acting(*given, **named):
        global count
        count += 1
        if count == at:
            if how == "killed":
                os.kill(os.getpid(), 9)
            raise OSError(28, "No space left on device")
        return act(*given, **named)
    return acting
with writing_into(folder, command="lesson", anew=True) as writing:
    for name, text in {files!r}.items():
        (writing.files / name).parent.mkdir(exist_ok=True)
        (writing.files / name).write_text(text)
    for name in ("rename", "replace", "link", "fsync", "mkdir"):
        setattr(os, name, counted(getattr(os, name)))
print("done", count)
"""


def stopped(at: int, how: str, folder: Path, files: Mapping[str, str]) -> subprocess.CompletedProcess[str]:
    """Write files into a folder, until the change of that number: "killed", or refused as by a full disk; 0 for none.

    A writing that is through prints how many changes it made.
    """
    code = STOPPED.replace("{files!r}", repr(dict(files)))
    return subprocess.run([sys.executable, "-c", code, str(at), how, str(folder)], capture_output=True, text=True)

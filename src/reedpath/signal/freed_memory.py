"""Freed memory: kept by the process for its next array, not given back to the system each time.

Hearing makes arrays of a megabyte by the thousand. The C library on Linux takes each of these from the system, which
clears it page by page, and gives it back. It does so for what is larger than a threshold, which follows the largest
block of that kind that was ever freed, up to 32 MB; what lies at the end of its own memory it gives back when that is
more than twice as much (malloc(3) and mallopt(3) of the GNU C library, M_MMAP_THRESHOLD and M_TRIM_THRESHOLD).
"""

from __future__ import annotations

import numpy as np

# bytes of the block that is freed for it, a little under the largest that counts
FREED_BYTES = 31 * 2**20


def keep_freed_memory() -> None:
    """Keep what arrays leave for the next ones, up to 62 MB; where the C library has no such rule, nothing changes.

    No page of the block is written to, so that it costs no memory.
    """
    np.empty(FREED_BYTES, dtype=np.uint8)

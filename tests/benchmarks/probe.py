"""What the disk does just now: the median of a small synced write. No figure with a sync in it means much without.

python -m tests.benchmarks.probe [FOLDER]
"""

import os
import statistics
import sys
import tempfile
import time
from pathlib import Path

BLOCK = b"\x5a" * 4096


def fdatasync_ms(folder: Path, times: int = 20) -> float:
    """Median of ``times`` appends of 4 KB, each made durable with fdatasync, in a file of that folder."""
    with tempfile.TemporaryFile(dir=folder, buffering=0) as file:
        taken_ms = []
        for _ in range(times):
            file.write(BLOCK)
            start_s = time.perf_counter()
            os.fdatasync(file.fileno())
            taken_ms.append((time.perf_counter() - start_s) * 1000)
    return statistics.median(taken_ms)


if __name__ == "__main__":
    print(f"f = {fdatasync_ms(Path(sys.argv[1] if sys.argv[1:] else tempfile.gettempdir())):.3f} ms")

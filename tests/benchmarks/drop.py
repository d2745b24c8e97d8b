"""The MIS: renames prepared tickets into a drop folder and notes the monotonic clock before each rename.

    python -m tests.benchmarks.drop PREPARED DROP PACE_MS

A pace of 0 is all at once. Prints the times in seconds by file name, as JSON.
"""

import json
import os
import sys
import time


def main(prepared: str, drop: str, pace_s: float) -> None:
    dropped_s = {}
    start_s = time.monotonic()
    for place, name in enumerate(sorted(os.listdir(prepared))):
        wait_s = start_s + place * pace_s - time.monotonic()
        if wait_s > 0:
            time.sleep(wait_s)
        dropped_s[name] = time.monotonic()
        os.rename(f"{prepared}/{name}", f"{drop}/{name}")
    json.dump(dropped_s, sys.stdout)


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], float(sys.argv[3]) / 1000)

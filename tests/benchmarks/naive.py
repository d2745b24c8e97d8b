"""The script that one would write on a Friday: watch, validate, pass on. Three of them.

Nothing is made durable, there is no state, and what is dropped while it is away stays lying. What it shows
besides speed: after a rename out of the watched folder watchdog holds back every event for half a second,
because the other half of the move might still come. ``rename`` pays that on every ticket, so nearly all of its
delay is this wait and not the schema; ``copy`` does the same work without the wait; ``lxml`` is as ``copy``, with
the quicker validator.

    python -m tests.benchmarks.naive rename|copy|lxml FOLDER

Watches FOLDER/drop, passes on into FOLDER/lane, says "ready" and ends when standard input closes.
"""

import shutil
import sys
from pathlib import Path

import xmlschema
from lxml import etree
from watchdog.events import FileSystemEventHandler
from watchdog.observers import Observer

from tests.benchmarks.schema_choice import SCHEMA

variant, folder = sys.argv[1], Path(sys.argv[2])
drop, lane = folder / "drop", folder / "lane"
drop.mkdir(parents=True)
lane.mkdir()
schema = etree.XMLSchema(etree.parse(str(SCHEMA))) if variant == "lxml" else xmlschema.XMLSchema(str(SCHEMA))


class Handler(FileSystemEventHandler):
    def on_created(self, event):
        path = Path(event.src_path)
        if variant == "lxml":
            schema.assertValid(etree.parse(path))
        else:
            schema.validate(path)
        if variant == "rename":
            path.rename(lane / path.name)
        else:
            shutil.copy(path, lane)
            path.unlink()


observer = Observer()
observer.schedule(Handler(), str(drop))
observer.start()
print("ready", flush=True)
sys.stdin.read()

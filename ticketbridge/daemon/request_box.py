"""Requests of people as files in the state folder: read, done, answered under the same name, then removed."""

import json
import os
from pathlib import Path

from ticketbridge.flow.asked.requests import answer
from ticketbridge.flow.bridge import Bridge
from ticketbridge.model.finding import Finding
from ticketbridge.model.request import Reply, Request
from ticketbridge.spool import durable
from ticketbridge.spool.gate import ShareHangs

MOST_BYTES = 1_000_000


def answer_requests(bridge: Bridge) -> bool:
    """Answer everything that lies in the box. True where something did."""
    names = sorted(
        name for name in os.listdir(bridge.places.requests) if name.endswith(".json") and name[0] != "."
    )
    for name in names:
        path = bridge.places.requests / name
        reply = _reply(bridge, path)
        durable.show_new(bridge.places.replies / name, json.dumps(reply.as_json()).encode())
        durable.remove_note(path)
    return bool(names)


def _reply(bridge: Bridge, path: Path) -> Reply:
    try:
        request = Request.from_json(json.loads(durable.read(path, MOST_BYTES)))
        return answer(bridge, request, path.stem)
    except ShareHangs as error:
        bridge.strayed = True
        return Reply(done=False, findings=(Finding("request.unreadable", facts={"reason": str(error)}),))
    except (OSError, ValueError, KeyError, TypeError) as error:
        return Reply(done=False, findings=(Finding("request.unreadable", facts={"reason": repr(error)}),))

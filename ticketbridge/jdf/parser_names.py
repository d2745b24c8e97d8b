"""Names that the parser has met are forgotten now and then.

libxml2 keeps every element and attribute name that a thread has parsed for as long as the thread lives, so that
equal names are the same address; made-up names of many spoiled or hostile documents would fill the memory. lxml
holds that dictionary in the thread's own state and makes another when it is gone; documents that are still in use
hold on to theirs, as they do when a thread ends.
"""

import ctypes
import threading
from typing import Any, Final

FORGOTTEN_AFTER_BYTES: Final = 32 * 2**20
"""So much is read before the names go: the most that they can take. At 10 KB a ticket that is once in 3,000."""

_KEPT_UNDER: Final = "_ParserDictionaryContext"
"""lxml's own word for it (``parser.pxi``). Should it ever be another one, names stay for good again."""

_state_of_this_thread: Any = ctypes.pythonapi.PyThreadState_GetDict
_state_of_this_thread.restype = ctypes.c_void_p  # borrowed: as an object it would be given back twice
_read = threading.local()


def forget_in_time(size_bytes: int) -> None:
    """Count what this thread is about to parse, and let it forget what it has met when that is enough."""
    before = getattr(_read, "bytes", 0)
    _read.bytes = before + size_bytes
    if before and _read.bytes > FORGOTTEN_AFTER_BYTES:
        _read.bytes = size_bytes
        state: Any = ctypes.cast(_state_of_this_thread(), ctypes.py_object).value
        state.pop(_KEPT_UNDER, None)

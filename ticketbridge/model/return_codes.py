"""JMF's return codes, as far as the bridge gives them (JDF specification, table of return codes)."""

from enum import IntEnum


class ReturnCode(IntEnum):
    """``Response@ReturnCode``. Below 100: protocol; from 100: device and controller; from 200: the ticket."""

    SUCCESS = 0
    GENERAL_ERROR = 1
    INTERNAL_ERROR = 2
    NOT_PARSEABLE = 3
    NOT_VALID = 4
    NOT_IMPLEMENTED = 5
    WRONG_PARAMETERS = 6
    PARAMETERS_MISSING = 7
    BUSY = 10
    CANNOT_DO = 101
    NOTHING_TO_RUN = 102
    UNKNOWN_ENTRY = 105
    ENTRY_RUNS = 106
    TOO_LATE = 107
    FILTER_EMPTY = 108
    SUBSCRIPTION_REFUSED = 111
    QUEUE_CLOSED = 112
    ALREADY_SO = 113
    ENTRY_ENDED = 114
    ENTRY_NOT_RUNNING = 115
    ENTRY_EXISTS = 116
    URL_UNREACHABLE = 120
    UNKNOWN_DEVICE = 121
    WRONG_RESOURCE = 200

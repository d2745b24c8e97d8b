"""Which schema the references judge by: the standard's own where it lies beside the checkout, else ours."""

import os
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
OFFICIAL = (
    Path(os.environ.get("TICKETBRIDGE_SHARED", ROOT.parent / "shared")) / "standards" / "jdf" / "JDF.xsd"
)
OURS = ROOT / "schemas" / "jdf.xsd"

SCHEMA = OFFICIAL if OFFICIAL.is_file() else OURS


def in_words() -> str:
    """For the heading of a table."""
    if SCHEMA is OFFICIAL:
        return "the references judge by the standard's own schema, the bridge by its own"
    return "the references judge by the bridge's schema, which xmlschema is quicker with than with the standard's own"

"""JSON Schemas for editors: any editor that knows YAML with a schema completes and warns while one types.

They are made from the same models that load the files, lie in ``schemas/editor`` and go with a new shop. They
say what one file may hold; what files say of one another is for ``ticketbridge check``.
"""

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from pydantic import BaseModel

from ticketbridge.config.files import FILES, MAPPING_MODEL

EDITOR_FOLDER: Final = "editor"
"""Where they lie below ``schemas`` and below a shop folder."""


def editor_schemas() -> dict[str, str]:
    """Every schema as text, by the name of its file."""
    models: Mapping[str, type[BaseModel]] = {**FILES, "mapping.yaml": MAPPING_MODEL}
    return {f"{Path(file).stem}.schema.json": _schema(file, model) for file, model in models.items()}


def _schema(file: str, model: type[BaseModel]) -> str:
    schema: dict[str, Any] = {"$schema": "https://json-schema.org/draft/2020-12/schema"}
    schema |= model.model_json_schema()
    schema["title"] = f"{file} of a ticketbridge shop"
    return json.dumps(schema, indent=1, ensure_ascii=False) + "\n"

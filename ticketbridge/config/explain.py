"""What every key means: allowed values in words, default, description. Made from the models alone.

Works on the JSON schema that pydantic derives from a model, because everything about a key stands in it
in one form: type, bounds, closed lists, defaults and the docstring of the field.
"""

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, Final

from pydantic import BaseModel

from ticketbridge.config.document import KeyPath
from ticketbridge.config.files import FILES, MAPPING_MODEL, MAPPINGS_FOLDER

Schema = Mapping[str, Any]

NAME_IN_WORDS: Final = "a name of up to 63 letters, digits, dots, underscores and hyphens, no blanks"

_PATTERNS_IN_WORDS: Final = {
    "^[A-Za-z0-9][A-Za-z0-9._-]{0,62}$": NAME_IN_WORDS,
    "^https?://": "an address that begins with http:// or https://",
}


@dataclass(frozen=True, slots=True)
class Key:
    """One key of a file.

    Attributes:
        name: From the top of the file: ``lanes[].width_mm``; ``<name>`` stands for a key of the shop's own.
        allowed: What may be written, in words.
        default: What holds when it is left out; None where it must be given.
        about: Its description; may be empty where the name says it all.
    """

    name: str
    allowed: str
    default: str | None
    about: str


def keys(model: type[BaseModel]) -> tuple[Key, ...]:
    """Every key of a file, nested ones too, in the model's order."""
    root = _schema(model)
    return tuple(_keys(root, root, ""))


def allowed(model: type[BaseModel], path: KeyPath) -> str:
    """What may be written at a path, in words: ``a number above 0``."""
    root = _schema(model)
    return _in_words(_at(root, path), root)


def key_names(model: type[BaseModel], path: KeyPath) -> tuple[str, ...]:
    """The keys that the block at a path may have."""
    return tuple(_at(_schema(model), path).get("properties", ()))


def words_allowed(model: type[BaseModel], path: KeyPath) -> tuple[str, ...]:
    """The closed list of words for the value at a path; empty where there is none."""
    return _words(_at(_schema(model), path))


def about(model: type[BaseModel], path: KeyPath) -> str:
    """The description of the key at a path; empty where its name says it all."""
    root = _schema(model)
    holder = _at(root, path[:-1])
    return _about(holder.get("properties", {}).get(path[-1], {}) if path else root)


def find_keys(name: str) -> tuple[tuple[str, Key], ...]:
    """Keys of that name, each with its file: ``width_mm``, ``lanes.width_mm``, ``presses[].crew``."""
    wanted = _bare(name)
    files = {**FILES, f"{MAPPINGS_FOLDER}/*.yaml": MAPPING_MODEL}
    return tuple(
        (file, key)
        for file, model in files.items()
        for key in keys(model)
        if f".{_bare(key.name)}".endswith(f".{wanted}")
    )


@cache
def _schema(model: type[BaseModel]) -> Schema:
    return model.model_json_schema()


def _bare(name: str) -> str:
    return name.replace("[]", "").strip()


def _keys(schema: Schema, root: Schema, prefix: str) -> Iterator[Key]:
    required = schema.get("required", ())
    for name, field in schema.get("properties", {}).items():
        target = _resolved(field, root)
        default = None if name in required else _default(field, target)
        yield Key(prefix + name, _in_words(target, root), default, _about(field))
        yield from _below(target, root, prefix + name)


def _below(target: Schema, root: Schema, name: str) -> Iterator[Key]:
    free = _free_values(target)
    if free is not None:
        yield Key(f"{name}.<name>", _in_words(_resolved(free, root), root), "left out", "")
    elif "items" in target:
        yield from _below(_resolved(target["items"], root), root, f"{name}[]")
    else:
        yield from _keys(target, root, f"{name}.")


def _default(field: Schema, target: Schema) -> str:
    value = field.get("default")
    if value is None or "properties" in target or _free_values(target) is not None:
        return "left out"
    return json.dumps(value, ensure_ascii=False)


def _about(field: Schema) -> str:
    return " ".join(str(field.get("description", "")).split())


def _resolved(field: Schema, root: Schema) -> Schema:
    """The schema itself: references followed, ``or null`` left aside."""
    if "$ref" in field:
        return _resolved(root["$defs"][field["$ref"].rpartition("/")[2]], root)
    if "anyOf" in field:
        return _resolved(next(choice for choice in field["anyOf"] if choice.get("type") != "null"), root)
    return field


def _at(root: Schema, path: KeyPath) -> Schema:
    schema: Schema = root
    for step in path:
        schema = _resolved(_step(schema, step), root)
    return schema


def _step(schema: Schema, step: str | int) -> Schema:
    if isinstance(step, int):
        places = schema.get("prefixItems", ())
        found = places[step] if step < len(places) else schema.get("items", {})
    else:
        found = schema.get("properties", {}).get(step) or _free_values(schema) or {}
    return dict(found)


def _free_values(schema: Schema) -> Schema | None:
    """What the values of a block with keys of the shop's own must be."""
    if schema.get("patternProperties"):
        return dict(next(iter(schema["patternProperties"].values())))
    more = schema.get("additionalProperties")
    return more if isinstance(more, dict) else None


def _words(schema: Schema) -> tuple[str, ...]:
    if "enum" in schema:
        return tuple(schema["enum"])
    pattern = str(schema.get("pattern", ""))
    if pattern.startswith("^(") and pattern.endswith(")$") and "|" in pattern:
        return tuple(pattern[2:-2].replace("\\", "").split("|"))
    return ()


def _in_words(schema: Schema, root: Schema) -> str:
    words = _words(schema)
    if words:
        return "one of " + ", ".join(f'"{word}"' for word in words)
    match schema.get("type"):
        case "string":
            return _PATTERNS_IN_WORDS.get(schema.get("pattern", ""), "text")
        case "boolean":
            return "true or false"
        case "number":
            return "a number" + _bounds(schema)
        case "integer":
            return "a whole number" + _bounds(schema)
        case "array":
            return _list_in_words(schema, root)
        case _ if _free_values(schema) is not None:
            return (
                f"a block of names, each with {_in_words(_resolved(_free_values(schema) or {}, root), root)}"
            )
        case _:
            return "a block of keys"


def _list_in_words(schema: Schema, root: Schema) -> str:
    if "prefixItems" in schema:
        first = _in_words(_resolved(schema["prefixItems"][0], root), root)
        return f"a list of exactly {len(schema['prefixItems'])}, each {first}"
    least = "at least one" if schema.get("minItems") else "any number"
    return f"a list of {least}, each {_in_words(_resolved(schema['items'], root), root)}"


def _bounds(schema: Schema) -> str:
    least, most = schema.get("minimum"), schema.get("maximum")
    above = schema.get("exclusiveMinimum")
    if above is not None:
        return f" above {above}" + (f", at most {most}" if most is not None else "")
    if most is not None:
        return f" from {least} to {most}"
    return f" of {least} or more" if least is not None else ""

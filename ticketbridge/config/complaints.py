"""From pydantic's errors to findings for people: where, what is there, what is allowed, the nearest word."""

from collections.abc import Iterable, Sequence
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from ticketbridge.config import explain
from ticketbridge.config.document import Document, KeyPath
from ticketbridge.model.finding import Finding

_LONGEST_QUOTE = 60


def complaints(document: Document, model: type[BaseModel]) -> list[Finding]:
    """Everything in one file that its model does not allow, each at its line.

    Args:
        document: The file as read.
        model: What it must fit.

    Returns:
        Findings in the model's order; a misspelt key is one complaint, not one for the key
        that is unknown and one for the key that is then missing.
    """
    try:
        model.model_validate(document.data)
    except ValidationError as refused:
        errors = refused.errors(include_url=False)
    else:
        return []
    guessed = {
        (*error["loc"][:-1], nearest(str(error["loc"][-1]), explain.key_names(model, error["loc"][:-1])))
        for error in errors
        if error["type"] == "extra_forbidden"
    }
    return [
        _finding(document, model, error)
        for error in errors
        if not (error["type"] == "missing" and error["loc"] in guessed) and not _only_follows(error)
    ]


def nearest(word: str, allowed: Iterable[str]) -> str | None:
    """The allowed word that looks most like this one; None where none is near. Capitals do not matter."""
    by_folded = {candidate.casefold(): candidate for candidate in allowed}
    found = get_close_matches(word.casefold(), by_folded, n=1, cutoff=0.6)
    return by_folded[found[0]] if found else None


def hint(word: str, allowed: Iterable[str], otherwise: str) -> str:
    """``Did you mean "banner"?``, or another sentence where no allowed word is near."""
    found = nearest(word, allowed)
    return f'Did you mean "{found}"?' if found else otherwise


def quoted(value: object) -> str:
    """A value as the file has it, shortened for a sentence."""
    match value:
        case None:
            return "nothing"
        case bool():
            return str(value).lower()
        case dict():
            return "a block of keys"
        case list():
            return "an empty list" if not value else f"a list of {len(value)}"
        case _:
            text = str(value)
            return f'"{text[:_LONGEST_QUOTE]}"' + (" ..." if len(text) > _LONGEST_QUOTE else "")


def listed(words: Iterable[str]) -> str:
    """Words for a sentence, or a dash where there are none."""
    return ", ".join(words) or "-"


def _only_follows(error: ErrorDetails) -> bool:
    """Whether a list is called too short only because members were refused, each with its own complaint."""
    return error["type"] == "too_short" and len(error["input"]) >= error["ctx"]["min_length"]


def _finding(document: Document, model: type[BaseModel], error: ErrorDetails) -> Finding:
    path: KeyPath = error["loc"]
    match error["type"]:
        case "extra_forbidden":
            names = explain.key_names(model, path[:-1])
            facts = {"key": str(path[-1]), "allowed": listed(names)}
            return Finding(
                "config.key-unknown",
                document.place(path, of_key=True),
                {**facts, "hint": hint(str(path[-1]), names, "Remove it.")},
            )
        case "missing" if isinstance(path[-1], int):
            return value_refused(document, model, path[:-1], error["input"])
        case "missing":
            facts = {"key": str(path[-1]), "allowed": explain.allowed(model, path)}
            return Finding("config.key-missing", document.place(path), facts)
        case "value_error":
            return Finding("config.contradiction", document.place(path), {"why": str(error["ctx"]["error"])})
        case "string_type" if isinstance(error["input"], int | float):
            return Finding(
                "config.not-quoted", document.place(path), {"found": quoted(error["input"]).strip('"')}
            )
    of_key = path[-1:] == ("[key]",)
    path = path[:-1] if of_key else path
    return value_refused(document, model, path, path[-1] if of_key else error["input"], of_key=of_key)


def value_refused(
    document: Document, model: type[BaseModel], path: KeyPath, found: Any, *, of_key: bool = False
) -> Finding:
    """The complaint that a value is not one of those that its key allows."""
    wanted = explain.NAME_IN_WORDS if of_key else explain.allowed(model, path)
    advice = hint(str(found), explain.words_allowed(model, path), "Correct the value.")
    facts = {
        "found": quoted(found),
        "allowed": wanted,
        "hint": f"{advice} {explain.about(model, path)}".strip(),
    }
    return Finding("config.value", document.place(path, of_key=of_key), facts)


def in_file_order(findings: Iterable[Finding], files: Sequence[Path]) -> list[Finding]:
    """The findings as a person reading the files from top to bottom meets them."""
    rank = {str(file): position for position, file in enumerate(files)}

    def where(finding: Finding) -> tuple[int, int, int]:
        place = finding.place
        return rank.get(place.file or "", -1), place.line or 0, place.column or 0

    return sorted(findings, key=where)

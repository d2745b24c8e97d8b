"""From sample files to a drafted mapping."""

from collections.abc import Sequence

from ticketbridge.accept.litter import kind_of
from ticketbridge.accept.readers.choose import KIND_OF_FILE, is_standard
from ticketbridge.accept.readers.json_records import parsed
from ticketbridge.extract.rows import FileRefused
from ticketbridge.jdf.safe_xml import XmlRefused, parse
from ticketbridge.model.codes import sentence
from ticketbridge.model.reads import FileKind
from ticketbridge.model.shop import Shop
from ticketbridge.prove.draft.guesses import guesses
from ticketbridge.prove.draft.levels import survey_tree
from ticketbridge.prove.draft.standard import survey_jdf
from ticketbridge.prove.draft.survey import NothingFound, Survey
from ticketbridge.prove.draft.tables import survey_csv, survey_xlsx
from ticketbridge.prove.draft.text import draft_text
from ticketbridge.prove.draft.trees import prefixes, tree_of_json, tree_of_xml


def draft(samples: Sequence[tuple[str, bytes]], shop: Shop) -> str:
    """The text of a first mapping file.

    Args:
        samples: Names and contents of files of one export; at least one.
        shop: For the names of its substrates and print modes, and the mapping to build upon.

    Raises:
        NothingFound: Nothing can be made of them.
    """
    try:
        survey = _survey(samples, shop)
    except FileRefused as refusal:
        raise NothingFound(f"{refusal.finding.place}: {sentence(refusal.finding)}") from refusal
    except XmlRefused as refusal:
        raise NothingFound(" ".join(f"{one.place}: {sentence(one)}" for one in refusal.findings)) from refusal
    return draft_text(survey, guesses(survey, shop), shop, _base(shop), [file for file, _ in samples])


def _survey(samples: Sequence[tuple[str, bytes]], shop: Shop) -> Survey:
    limits = shop.settings.limits
    kinds = {_kind(file, data, shop) for file, data in samples}
    if len(kinds) > 1:
        raise NothingFound("the samples are of different kinds: " + ", ".join(sorted(kinds)))
    match kinds.pop():
        case FileKind.CSV:
            return survey_csv(samples, limits)
        case FileKind.XLSX:
            return survey_xlsx(samples, limits)
        case FileKind.JSON:
            documents = [parsed(data, limits, file) for file, data in samples]
            return survey_tree(
                [tree_of_json({"": one} if isinstance(one, list) else one) for one in documents],
                FileKind.JSON,
            )
        case FileKind.XML:
            roots = [parse(data, limits, file) for file, data in samples]
            known = prefixes(roots)
            survey = survey_tree([tree_of_xml(root, known) for root in roots], FileKind.XML)
            if known:
                survey.layout = {"namespaces": (known, "as the samples declare them"), **survey.layout}
            return survey
        case FileKind.JDF:
            return survey_jdf(samples, limits, shop.settings.time_zone)


def _kind(file: str, data: bytes, shop: Shop) -> FileKind:
    kind = KIND_OF_FILE.get(kind_of(file))
    if kind is not None:
        return kind
    return FileKind.JDF if is_standard(data, shop.settings.limits, file) else FileKind.XML


def _base(shop: Shop) -> str | None:
    """A mapping that has the tables of the shop: the first source's, where that reads JDF; else one that does."""
    ids = [source.mapping for source in shop.settings.sources] + sorted(shop.mappings)
    return next((one for one in ids if shop.mappings[one].reads is None), ids[0] if ids else None)

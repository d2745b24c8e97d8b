"""Of the six exports, how many fields a draft has right: none of their words is known to it but as words of the trade."""

import shutil
from pathlib import Path

import pytest

from tests.exports.graded import drafted, graded
from tests.exports.orders import TWELVE
from tests.exports.shop import copy_exports_shop
from tests.exports.write import EXPORTS, HOME, files_of

ENOUGH = 0.7


@pytest.mark.parametrize("export", EXPORTS)
def test_a_draft_has_most_fields_right(tmp_path: Path, export: str) -> None:
    copy_exports_shop(tmp_path / "shop")
    names = files_of(export, TWELVE)
    files = sorted(path for path in (HOME / f"{export}.cases").iterdir() if path.name in names)
    _, shop = drafted(tmp_path / "shop", tmp_path / "with-draft", files)
    right = graded(shop, export, files)
    wrong = [field.value for field, is_right in right.items() if not is_right]

    print(f"{export}: {len(right) - len(wrong)} of {len(right)} right; wrong: {', '.join(wrong) or 'none'}")
    assert len(wrong) <= (1 - ENOUGH) * len(right)
    assert (shop.mappings["drafted"].reads is None) == (shop.mappings[export].reads is None)


UNSEEN = Path(__file__).parent.parent / "exports" / "unseen"
"""Exports, each with its right mapping, written by somebody who had not seen how drafts are made."""


@pytest.mark.parametrize("sample", ["workshop.xml", "dispatch.json"])
def test_a_draft_has_most_fields_of_an_export_right_that_its_author_never_saw(
    tmp_path: Path, sample: str
) -> None:
    copy_exports_shop(tmp_path / "shop")
    file = UNSEEN / sample
    shutil.copy(file.with_suffix(".yaml"), tmp_path / "shop" / "mappings")
    _, shop = drafted(tmp_path / "shop", tmp_path / "with-draft", [file])
    right = graded(shop, file.stem, [file])
    wrong = [field.value for field, is_right in right.items() if not is_right]

    print(f"{sample}: {len(right) - len(wrong)} of {len(right)} right; wrong: {', '.join(wrong) or 'none'}")
    assert len(wrong) <= (1 - ENOUGH) * len(right)

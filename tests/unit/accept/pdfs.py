"""Small PDFs, right and wrong, put together by hand so that nothing mends them."""

from collections.abc import Sequence
from pathlib import Path


def pdf(*pages: str, root: str = "", tree: str = "") -> bytes:
    """A PDF with these entries in its pages, its catalogue and its page tree node."""
    kids = " ".join(f"{3 + number} 0 R" for number in range(len(pages)))
    return assembled(
        [
            f"<< /Type /Catalog /Pages 2 0 R {root} >>",
            f"<< /Type /Pages /Kids [{kids}] /Count {len(pages)} {tree} >>",
            *(f"<< /Type /Page /Parent 2 0 R {page} >>" for page in pages),
        ]
    )


def assembled(objects: Sequence[str]) -> bytes:
    """Objects with a cross-reference table and a trailer."""
    data, offsets = b"%PDF-1.6\n", []
    for number, body in enumerate(objects, 1):
        offsets.append(len(data))
        data += f"{number} 0 obj\n{body}\nendobj\n".encode()
    start = len(data)
    table = "".join(f"{offset:010d} 00000 n \n" for offset in offsets)
    size = len(objects) + 1
    end = f"xref\n0 {size}\n0000000000 65535 f \n{table}trailer << /Size {size} /Root 1 0 R >>\n"
    return data + f"{end}startxref\n{start}\n%%EOF\n".encode()


def put(folder: Path, data: bytes, name: str = "a.pdf") -> Path:
    """The bytes in a file."""
    (folder / name).write_bytes(data)
    return folder / name

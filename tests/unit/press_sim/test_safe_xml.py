"""XML from outside is read without believing it."""

import os
from pathlib import Path

import pytest

from ticketbridge.press_sim.safe_xml import NotReadable, parse, read

BOMB = "".join(f'<!ENTITY e{n} "{f"&e{n - 1};" * 10}">' for n in range(1, 12))

HOSTILE = {
    "entities in entities": f'<!DOCTYPE a [<!ENTITY e0 "aaaaaaaaaa">{BOMB}]><a>&e11;</a>',
    "entities in an attribute": f'<!DOCTYPE a [<!ENTITY e0 "aaaaaaaaaa">{BOMB}]><a b="&e11;"/>',
    "a file as an entity": '<!DOCTYPE a [<!ENTITY e SYSTEM "file:///etc/hostname">]><a>&e;</a>',
    "a document type and nothing else": "<!DOCTYPE a><a/>",
    "100,000 elements in each other": "<a>" * 100_000,
    "two roots": "<a/><b/>",
    "nothing": "",
}


@pytest.mark.parametrize("name", HOSTILE)
@pytest.mark.timeout(10)
def test_hostile_documents_are_refused(name: str) -> None:
    with pytest.raises(NotReadable):
        parse(HOSTILE[name].encode())


def test_a_file_beyond_the_limit_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "large.jdf"
    path.write_bytes(b"<a>" + b" " * 200 + b"</a>")
    with pytest.raises(NotReadable, match="larger than 100 bytes"):
        read(path, limit_bytes=100)


def test_an_include_is_an_unknown_element_and_nothing_more(tmp_path: Path) -> None:
    secret = tmp_path / "secret"
    secret.write_text("secret")
    include = f'<a xmlns:xi="http://www.w3.org/2001/XInclude"><xi:include href="{secret}" parse="text"/></a>'
    assert "".join(parse(include.encode()).itertext()) == ""


@pytest.mark.timeout(10)
def test_an_entity_that_names_a_file_does_not_even_open_it(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)  # whoever opens it for reading waits for ever
    with pytest.raises(NotReadable):
        parse(f'<!DOCTYPE a [<!ENTITY e SYSTEM "{pipe.as_uri()}">]><a>&e;</a>'.encode())


def test_comments_stay() -> None:
    assert parse(b"<a><!-- kept --></a>")[0].text == " kept "

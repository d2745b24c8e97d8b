"""Schemas are loaded one at a time, whatever thread first needs one."""

import threading
import time

import pytest
from lxml import etree

from ticketbridge.jdf import schema_catalogue


def test_two_threads_never_load_a_schema_at_the_same_time(monkeypatch: pytest.MonkeyPatch) -> None:
    loading, most = [], []
    begin = threading.Barrier(4)

    class Slow:
        def __init__(self, document: etree._ElementTree) -> None:
            loading.append(document)
            most.append(len(loading))
            time.sleep(0.02)
            loading.remove(document)

    def need_one() -> None:
        begin.wait()
        schema_catalogue.schema("JDF")

    monkeypatch.setattr(schema_catalogue.etree, "XMLSchema", Slow)
    threads = [threading.Thread(target=need_one) for _ in range(begin.parties)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()

    assert most == [1, 1, 1, 1]

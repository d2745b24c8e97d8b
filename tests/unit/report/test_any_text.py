"""Whatever names and values from outside hold, a message with them is read again and says the same."""

from hypothesis import given
from hypothesis import strategies as st
from lxml import etree

from tests.unit.made import NOW
from ticketbridge.jdf.writing import as_bytes
from ticketbridge.model.codes import sentence
from ticketbridge.model.finding import Finding, Place
from ticketbridge.report.compose import refused, repeated, trouble
from ticketbridge.vocabulary.names import jdf

IN_XML = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cc", "Cs", "Cn"]) | st.sampled_from("<&>]]>\"'")
)
ANY = st.text(st.characters(), min_size=1)


@given(IN_XML)
def test_text_that_xml_can_carry_comes_back_the_same(text: str) -> None:
    said = etree.fromstring(as_bytes(trouble(None, "Error", "Any", text, NOW)))
    assert [comment.text or "" for comment in said.iter(jdf("Comment"))] == [text]


@given(ANY, ANY)
def test_whatever_a_name_holds_the_message_can_be_read(name: str, job_id: str) -> None:
    finding = Finding("xml.doctype", Place(name))
    for message in (refused(name, [finding], job_id, NOW, name), repeated(job_id, "Q1", name, NOW)):
        assert etree.fromstring(as_bytes(message)).tag == jdf("Signal")
    assert sentence(finding).isprintable()

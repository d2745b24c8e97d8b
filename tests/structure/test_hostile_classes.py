"""Every class of hostile or faulty input that we know of, and the tests that try it; none may go without.

The classes come from a list that lies with the outside checks (``checks/hostile.md``). A class is named here by how
its line begins. Where nothing of ours takes such input in, the line says so instead of a test.
"""

import ast
import os
import re
from pathlib import Path

import pytest

TESTS = Path(__file__).parents[1]
XML = "unit/jdf/test_hostile_xml.py"
BYTES = f"{XML}::test_hostile_bytes_are_refused_by_name"
DOCTYPE = f"{XML}::test_a_document_type_is_refused_before_anything_is_expanded"
BOOK = "unit/extract/test_hostile_workbooks.py::test_a_workbook_made_to_harm_is_refused"
HARMLESS_BOOK = (
    "unit/extract/test_hostile_workbooks.py"
    "::test_what_is_harmless_when_nothing_is_unpacked_is_read_and_nothing_is_written"
)
PACKAGE = "unit/answer/test_multipart.py::test_what_cannot_be_read_is_refused_in_words"
HTTP = "unit/daemon/http/test_hostile.py"
ANSWERED = f"{HTTP}::test_a_package_that_cannot_be_read_is_answered_with_3"
ARTWORK = "unit/accept/test_artwork.py"
SCHEMES = f"{ARTWORK}::test_other_schemes_hosts_and_windows_paths_are_refused_by_name"
NAMES = "unit/flow/test_hostile_names.py::test_a_bad_ticket_is_refused_with_its_note_under_any_name"
CLAIM = "unit/accept/test_claim.py"
KILLED = "processes/test_killed_demo.py"
CSV = "unit/accept/readers/test_csv_lines.py"
ROWS = "unit/extract/test_csv_rows.py"
PDF = "unit/accept/test_pdf_facts.py"
UNFIT = f"{PDF}::test_a_pdf_that_cannot_be_relied_on_is_refused_by_name"

TRIED: dict[str, tuple[str, ...]] = {
    # XML
    "nested entity expansion": (DOCTYPE, "unit/report/test_send.py::test_an_entity_in_an_answer_is_never_opened"),
    "quadratic expansion": (DOCTYPE,),
    "recursive entity": (DOCTYPE,),
    "external general entity": (DOCTYPE,),
    "external parameter entity": (DOCTYPE,),
    "any DTD at all": (DOCTYPE, "unit/jdf/test_safe_xml.py::test_a_doctype_is_refused_with_its_line"),
    "XInclude": (f"{XML}::test_xinclude_is_an_unknown_element",),
    "schema hints": (f"{XML}::test_schema_hints_are_not_followed",),
    "stylesheet instruction": (f"{XML}::test_a_stylesheet_instruction_is_ignored",),
    "deep nesting": (BYTES, "unit/jdf/test_safe_xml.py::test_depth_is_limited"),
    "attribute flood": (BYTES, "unit/jdf/test_safe_xml.py::test_attributes_of_one_element_are_limited"),
    "duplicate attributes, duplicate ID values": (
        BYTES, f"{XML}::test_duplicate_ids_are_reported_with_both_lines"),
    "huge text or attribute value": (BYTES,),
    "huge comment, processing instruction, CDATA": (BYTES,),
    "many namespaces": (BYTES, f"{XML}::test_the_right_name_in_a_wrong_namespace_is_not_jdf"),
    "encoding declared wrongly": (BYTES,),
    "UTF-16 without BOM": (BYTES, "unit/jdf/test_safe_xml.py::test_every_supported_encoding_is_read"),
    "overlong UTF-8": (BYTES,),
    "BOM twice": (BYTES, "unit/jdf/test_safe_xml.py::test_one_byte_order_mark_is_taken_off"),
    "NUL and other control characters": (BYTES,),
    "bidirectional and look-alike": (f"{XML}::test_direction_marks_in_a_name_are_data_and_shown_escaped",),
    "truncated or doubled document": (
        BYTES, "unit/jdf/test_closed_root.py::test_cut_anywhere_a_document_is_not_whole"),
    "numbers": (
        f"{XML}::test_a_thickness_that_is_no_sensible_number_is_refused_by_name",
        f"{XML}::test_an_amount_that_is_no_sensible_number_is_refused"),
    "dates": (
        f"{XML}::test_a_time_that_does_not_exist_is_refused",
        f"{XML}::test_a_time_without_a_zone_is_a_warning_and_taken_as_utc"),
    "reference loops": (
        f"{XML}::test_resources_that_refer_to_each_other_are_reported_and_read",
        f"{XML}::test_a_resource_that_refers_to_itself_is_reported"),
    "path expressions from input": (f"{XML}::test_quotes_in_a_name_are_no_path_expression",),
    "log and header injection": (
        f"{XML}::test_line_breaks_in_the_name_of_the_job_are_refused",
        "unit/report/test_any_text.py::test_whatever_a_name_holds_the_message_can_be_read"),
    "slow pattern matching": (
        f"{XML}::test_long_values_meet_patterns_that_take_linear_time",
        "unit/accept/readers/test_by_mapping.py::test_what_never_ends_is_ended_and_named_and_the_next_file_is_read"),
    "output side": ("unit/report/test_any_text.py::test_text_that_xml_can_carry_comes_back_the_same",),
    # ZIP: workbooks are the only archives that are read, and nothing of them is unpacked to a disk
    "path escape": (HARMLESS_BOOK,),
    "compression bomb": (
        "unit/accept/readers/test_by_mapping.py::test_a_workbook_that_cannot_be_relied_on_is_refused", BOOK),
    "lying sizes": (BOOK,),
    "duplicate names, case twins": (BOOK,),
    "links, devices in archive": (HARMLESS_BOOK,),
    "encrypted, split, ZIP64": (BOOK, HARMLESS_BOOK),
    "data before or after": (HARMLESS_BOOK, BOOK),
    "names (NUL in name": (HARMLESS_BOOK,),
    # MIME
    "nesting bomb": (PACKAGE, ANSWERED),
    "part flood": (PACKAGE, ANSWERED),
    "boundary faults": (PACKAGE, "unit/answer/test_multipart.py::test_a_boundary_that_is_none_is_refused"),
    "duplicate Content-ID": (ANSWERED,),
    "dangling or looping cid": (f"{HTTP}::test_parts_are_named_by_their_ids_and_nothing_else",),
    "Content-ID forms": (f"{HTTP}::test_parts_are_named_by_their_ids_and_nothing_else",),
    "transfer encoding faults": (PACKAGE,),
    "header faults": (PACKAGE, ANSWERED),
    "file names in headers": (f"{HTTP}::test_a_name_in_a_header_leads_nowhere",),
    # references
    "traversal": (
        f"{ARTWORK}::test_nothing_outside_the_roots_is_opened",
        f"{ARTWORK}::test_a_double_escape_is_decoded_once_and_finds_nothing",
        f"{HTTP}::test_a_ticket_outside_the_allowed_folders_is_not_read"),
    "absolute and host forms": (SCHEMES, f"{HTTP}::test_a_ticket_outside_the_allowed_folders_is_not_read"),
    "other schemes": (SCHEMES, f"{HTTP}::test_no_host_is_called_that_nobody_allowed"),
    "link following": (
        f"{ARTWORK}::test_a_link_inside_that_leads_outside_is_refused",
        f"{CLAIM}::test_links_pipes_and_folders_stay_where_they_are"),
    "virtual names": (
        f"{ARTWORK}::test_devices_are_not_opened_even_where_every_folder_is_allowed",
        f"{ARTWORK}::test_a_file_named_like_a_device_of_another_system_is_a_file"),
    # the hot folder
    "special files": (
        f"{CLAIM}::test_links_pipes_and_folders_stay_where_they_are",
        "unit/flow/test_nothing_stops.py::test_a_file_without_rights_to_read_then_with_them",
        "unit/daemon/test_intake_loop.py::test_litter_artwork_and_special_files_are_left_alone"),
    "half-written files": (
        "unit/daemon/test_intake_loop.py::test_a_file_that_a_slow_writer_writes_in_parts_is_taken_once_and_whole",
        "unit/daemon/test_intake_loop.py::test_half_a_file_is_handed_on_as_unfinished_after_the_patience"),
    "vanishing files": (
        f"{CLAIM}::test_a_file_that_is_gone_is_no_error",
        "unit/accept/test_watch.py::test_a_file_that_is_gone_between_two_looks_is_no_error"),
    "names (255 bytes": (NAMES, f"{CLAIM}::test_any_name_that_a_folder_takes_can_be_claimed"),
    "floods": (
        "unit/accept/test_watch.py::test_a_flood_of_files_is_seen_in_one_look_and_the_first_written_comes_first",
        "unit/jdf/test_safe_xml.py::test_a_large_file_is_refused_before_anything_looks_at_it",
        "unit/daemon/test_flow_loop.py::test_a_full_disk_stops_the_work_and_is_nobody_s_fault"),
    "same job again": (
        "unit/flow/test_accepting.py::test_the_same_content_again_is_one_job_also_in_one_batch_and_with_new_times",
        "unit/flow/test_accepting.py::test_a_change_of_what_the_press_has_is_refused"),
    "clock": ("unit/accept/test_settle.py::test_a_file_whose_time_lies_anywhere_is_settled_all_the_same",),
    "restart": (
        f"{KILLED}::test_killed_at_random_and_started_again_every_accepted_piece_is_printed_exactly_once",
        "processes/power/test_power_loss.py::test_no_power_cut_at_any_moment_of_the_day_breaks_a_promise"),
    # CSV
    "formula injection on export": (f"{CSV}::test_what_a_spreadsheet_would_calculate_is_kept_as_it_stands",),
    "marks and encodings": (
        f"{ROWS}::test_a_byte_order_mark_of_utf_8_does_not_become_part_of_the_first_heading",
        f"{ROWS}::test_bytes_that_are_not_the_configured_encoding_are_refused_at_their_line"),
    "delimiters": (
        f"{ROWS}::test_a_first_line_that_names_another_separator_is_refused",
        f"{CSV}::test_the_wrong_separator_shows_in_the_headings"),
    "quoting": (f"{ROWS}::test_quotes_that_do_not_fit_refuse_the_file_at_their_line",),
    "rows": (
        f"{CSV}::test_a_ragged_line_refuses_the_order_in_its_first_cell",
        f"{CSV}::test_a_heading_that_is_there_twice_refuses_the_file",
        f"{ROWS}::test_a_file_that_asks_for_too_much_is_refused"),
    "numbers (1.234,5": (
        f"{CSV}::test_numbers_that_could_mean_two_things_or_none_are_refused_at_their_cell",
        f"{CSV}::test_order_numbers_are_text_with_their_zeros"),
    # PDF
    "boxes": (UNFIT, f"{PDF}::test_the_size_is_that_of_the_innermost_box_as_it_is_seen"),
    "huge page": (UNFIT,),
    "UserUnit": (UNFIT, f"{PDF}::test_the_size_is_that_of_the_innermost_box_as_it_is_seen"),
    "rotation": (UNFIT, f"{PDF}::test_the_size_is_that_of_the_innermost_box_as_it_is_seen"),
    "mixed pages": (UNFIT, f"{PDF}::test_each_page_has_its_own_size"),
    "encryption": (
        f"{PDF}::test_encryption_with_a_password_is_refused",
        f"{PDF}::test_encryption_with_an_empty_password_is_opened"),
    "damage": (UNFIT,),
    "bombs": (f"{PDF}::test_a_stream_that_unpacks_without_end_meets_the_limit_of_memory_or_time",),
    "active content": (f"{PDF}::test_active_content_is_named_and_left_alone",),
    "not a PDF": (UNFIT,),
}  # fmt: skip

NOT_TAKEN_IN = {
    "colour": "plates and transparency of a PDF are the press's to read; the bridge looks at pages and boxes alone",
}


def known_classes() -> list[str]:
    """The first two cells of each line of the list."""
    folder = Path(os.environ.get("TICKETBRIDGE_SHARED", TESTS.parent.parent / "shared"))
    listed = folder / "checks" / "hostile.md"
    if not listed.is_file():
        if "CI" in os.environ:
            pytest.fail(f"{listed} is not there")
        pytest.skip(f"{listed} is not there; set TICKETBRIDGE_SHARED")
    tables = listed.read_text(encoding="utf-8").partition("## Corpora")[0]
    rows = re.findall(r"^\| ([^|]+?) \| ([^|]+?) \|", tables, re.MULTILINE)
    return [f"{name} ({more}" for name, more in rows if name not in ("class", "---")]


def test_every_class_of_hostile_input_is_tried_or_cannot_come_in() -> None:
    names = sorted((*TRIED, *NOT_TAKEN_IN), key=len, reverse=True)
    found = {line: next((name for name in names if line.startswith(name)), None) for line in known_classes()}

    assert [line for line, name in found.items() if name is None] == []
    assert set(names) - set(found.values()) == set(), "no line of the list begins like this"


def test_every_test_that_is_named_is_there() -> None:
    there = {
        f"{path.relative_to(TESTS)}::{node.name}"
        for path in {TESTS / test.partition("::")[0] for tests in TRIED.values() for test in tests}
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.FunctionDef)
    }
    assert sorted({test for tests in TRIED.values() for test in tests} - there) == []

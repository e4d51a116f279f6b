"""YAML is read safely, with the place of every value, and what cannot be used is refused in plain words."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests.support.needs import has_pipes
from toolpaths.common.errors import JobError
from toolpaths.job.files.yaml_text import MAX_BYTES, parse_document, read_document


def data(text: str) -> dict[object, object]:
    return dict(parse_document(text.encode(), "job.yaml").data)


def refused(text: str | bytes) -> list[str]:
    raw = text.encode() if isinstance(text, str) else text
    with pytest.raises(JobError) as caught:
        parse_document(raw, "job.yaml")
    return [f"{p.line}:{p.column}: {p.key}: {p.problem}" for p in caught.value.problems]


# Scalars: YAML 1.2.2, section 10.3.2 (core schema), less what is not finite.


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("12", 12),
        ("-7", -7),
        ("+3", 3),
        ("0o14", 12),
        ("0xC", 12),
        ("017", 17),
        ("1e3", 1000.0),
        ("-.5", -0.5),
        ("5.", 5.0),
        ("true", True),
        ("False", False),
        ("null", None),
        ("~", None),
        ("", None),
    ],
)
def test_plain_words_are_read_as_the_core_schema_of_yaml_1_2_says(text: str, value: object) -> None:
    assert {"a": value} == data(f"a: {text}")
    assert type(value) is type(data(f"a: {text}")["a"])


@pytest.mark.parametrize("text", ["no", "on", "yes", "off", "y", "12:30", "1_000", "2001-12-14", "=", "1/4 in"])
def test_words_that_other_versions_turn_into_something_else_stay_text(text: str) -> None:
    assert {"a": text} == data(f"a: {text}")


def test_quotes_make_text_of_a_number() -> None:
    assert {"a": "12", "b": "true"} == data("a: '12'\nb: \"true\"")


def test_a_whole_number_as_a_key_stays_a_number_for_frets() -> None:
    assert {"width": {"nut": 36, 12: 44}} == data("width: {nut: 36, 12: 44}")


def test_a_byte_order_mark_and_windows_line_ends_do_no_harm() -> None:
    document = parse_document(b"\xef\xbb\xbfa: 1\r\nb:\r\n  - 2\r\n", "job.yaml")
    assert {"a": 1, "b": [2]} == document.data
    assert (3, 5) == document.place(("b", 0))


def test_every_value_and_key_knows_its_line_and_column() -> None:
    document = parse_document(b"a:\n  b: [1, {c: x}]\n", "job.yaml")
    assert (2, 6) == document.place(("a", "b"))
    assert (2, 3) == document.place(("a", "b"), on_key=True)
    assert (2, 14) == document.place(("a", "b", 1, "c"))


def test_a_missing_value_is_placed_at_the_key_around_it() -> None:
    document = parse_document(b"a:\n  b: {c: 1}\n", "job.yaml")
    assert (2, 3) == document.place(("a", "b", "d"))
    assert (1, 1) == document.place(("z",))


def test_an_alias_repeats_a_value_and_is_placed_where_it_stands() -> None:
    document = parse_document(b"a: &x [1, 2]\nb: *x\n", "job.yaml")
    assert {"a": [1, 2], "b": [1, 2]} == document.data
    assert (2, 1) == document.place(("b", 1))


# Refusals


def test_a_key_given_twice_names_the_first() -> None:
    assert ["3:1: a: this key is given twice, first on line 1"] == refused("a: 1\nb: 2\na: 3\n")


def test_several_faults_are_told_at_once() -> None:
    assert [
        "2:1: a: this key is given twice, first on line 1",
        "3:4: b: `.nan` is not a number",
        "4:4: c: a tag (!!python/object:os.system) is not allowed here",
        "5:5: d[0]: `-.inf` is not a number",
    ] == refused("a: 1\na: 2\nb: .nan\nc: !!python/object:os.system x\nd: [-.inf]\n")


@pytest.mark.parametrize("text", ["!!str 3", "!own {b: 1}", "! 3"])
def test_tags_are_refused(text: str) -> None:
    assert [f"1:4: a: a tag ({text.split()[0]}) is not allowed here"] == refused(f"a: {text}")


@pytest.mark.parametrize("text", [".inf", "-.INF", "+.Inf", ".nan", ".NaN"])
def test_numbers_that_are_not_finite_are_refused(text: str) -> None:
    assert [f"1:4: a: `{text}` is not a number"] == refused(f"a: {text}")


@pytest.mark.parametrize("text", ["1e13", "1e999", "-9999999999999"])
def test_numbers_beyond_any_quantity_are_refused(text: str) -> None:
    assert [f"1:4: a: `{text}` is too large"] == refused(f"a: {text}")


def test_a_number_of_very_many_digits_is_refused_before_it_is_worked_out() -> None:
    assert ["1:4: a: a number of 100000 characters"] == refused("a: " + "9" * 100_000)


def test_an_empty_file_and_one_of_comments_only_are_refused() -> None:
    assert ["1:1: : the file is empty"] == refused("")
    assert ["1:1: : the file is empty"] == refused("# nothing yet\n")
    assert ["1:1: : the file is empty"] == refused("null\n")


def test_a_file_that_holds_no_keys_is_refused() -> None:
    assert ["1:1: : the file is a list, not keys and values"] == refused("- a\n- b\n")
    assert ["1:1: : the file is the text `tenor board`, not keys and values"] == refused("tenor board")


def test_a_second_document_is_refused() -> None:
    assert ["2:1: : a second document begins here"] == refused("a: 1\n---\nb: 2\n")


def test_a_percent_line_is_refused() -> None:
    assert ["1:1: : a line that begins with % is not allowed"] == refused("%YAML 1.1\n---\na: no\n")


def test_text_that_is_not_utf_8_names_the_byte_and_its_place() -> None:
    assert ["2:4: : not UTF-8 text (byte 0xe9)"] == refused(b"a: 1\nb: \xe9t\xe9\n")
    assert ["1:1: : not UTF-8 text (byte 0xff)"] == refused("a: 1".encode("utf-16"))


def test_a_character_that_cannot_be_printed_is_refused_raw_or_escaped() -> None:
    assert ["2:5: : a character that cannot be printed (U+001B)"] == refused("a: 1\nb: '\x1b[31m'\n")
    assert ["1:4: a: text with a character that cannot be printed"] == refused('a: "\\x1b[31m"')
    assert ["1:4: a: text with a character that cannot be printed"] == refused('a: "\\ud800"')


def test_deep_nesting_is_refused() -> None:
    (problem,) = refused("a: " + "[" * 5000)
    assert "nested deeper than 40 levels" in problem
    (problem,) = refused("\n".join(" " * i + "a:" for i in range(100)))
    assert "nested deeper than 40 levels" in problem


def test_a_job_may_be_nested_as_deep_as_any_job_needs() -> None:
    assert data("a: " + "[" * 38 + "]" * 38)


def test_an_alias_bomb_is_refused_by_what_it_would_grow_to() -> None:
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 9)}]" for i in range(1, 10)]
    (problem,) = refused("\n".join(lines))
    assert "more than 20000 values" in problem


def test_very_many_aliases_are_refused() -> None:
    (problem,) = refused("a: &a 1\nb: [" + ", ".join(["*a"] * 101) + "]")
    assert problem.endswith("more than 100 aliases")


def test_an_alias_that_holds_itself_or_stands_for_nothing_is_refused() -> None:
    assert ["1:8: a[0]: `*x` would contain itself"] == refused("a: &x [*x]")
    assert ["1:4: a: there is no `&y` above for `*y`"] == refused("a: *y")


def test_very_many_values_are_refused() -> None:
    (problem,) = refused("a: [" + "1, " * 30_000 + "]")
    assert problem.endswith("more than 20000 values")


def test_a_very_large_file_is_refused_unread() -> None:
    assert ["0:0: : larger than 1 MiB"] == refused(b"#" * (MAX_BYTES + 1))


def test_a_mapping_as_a_key_is_refused() -> None:
    assert ["1:1: : a key must be a plain word or number"] == refused("{a: 1}: 2")
    assert ["1:5: a: a key must be a plain word or number"] == refused("a: {[b]: 2}")


def test_a_key_left_out_is_refused() -> None:
    assert ["1:1: : a key is missing before the colon"] == refused(": 2")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a: 1\n\tb: 2\n", "a tab where spaces must be"),
        ("a: b: c\n", "a second colon on this line, or wrong spaces at its beginning"),
        ("a: 1\nframe\nb: 2\n", "a colon is missing"),
        ("a: [1, 2\nb: 3\n", "a list in [ ] is not closed, or a comma is missing"),
        ("a: {b: 2\nc: 3\n", "keys in { } are not closed, or a comma is missing"),
        ("a: 'x\n", "a quote or bracket is never closed"),
        ("a:\n    b: 1\n  c: 2\n", "the spaces at the beginning of this line fit no line above"),
        ('a: "\\q"\n', "an unknown backslash escape"),
        ("a: @x\n", "text cannot begin with this character"),
        ("a: !x!y z\n", "a tag is not allowed here"),
    ],
)
def test_broken_yaml_is_explained_without_the_parser_s_own_words(text: str, said: str) -> None:
    (problem,) = refused(text)
    assert said == problem.split(": ", 2)[2]


def test_a_missing_file_a_folder_and_a_name_that_cannot_be_are_refused(tmp_path: Path) -> None:
    for path, said in (
        (tmp_path / "none.yaml", "there is no such file"),
        (tmp_path, "this is a folder, not a file"),
        (tmp_path / ("x" * 300), "this file cannot be read (File name too long)"),
    ):
        with pytest.raises(JobError) as caught:
            read_document(path)
        (problem,) = caught.value.problems
        assert said == problem.problem
        assert str(path) == problem.file
        assert 0 == problem.line


@has_pipes
def test_a_pipe_and_a_device_are_refused_and_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "job.yaml")
    for path in (tmp_path / "job.yaml", Path("/dev/zero")):
        with pytest.raises(JobError) as caught:
            read_document(path)
        assert "this file cannot be read (a device or a pipe, not a file)" == caught.value.problems[0].problem


@pytest.mark.parametrize("number", ["0,6", "-10,5", "3,175 mm", "12,75"])
@pytest.mark.parametrize(
    "text", ["{{a: {}, b: 2}}", "{{b: 2, a: {}}}", "{{b: [1, 2], a: {} }}", "{{\n  a: {},\n  b: 2}}"]
)
def test_a_decimal_comma_in_braces_is_one_fault_at_its_number(number: str, text: str) -> None:
    whole = text.format(number)
    line, column = next((n, row.index(number) + 1) for n, row in enumerate(whole.split("\n"), 1) if number in row)
    assert [f"{line}:{column}: a: a number with a comma (`{number}`)"] == refused(whole)
    with pytest.raises(JobError) as caught:
        parse_document(whole.encode(), "job.yaml")
    assert f"write {number.split()[0].replace(',', '.')} with a point" in caught.value.problems[0].hint


@pytest.mark.parametrize(
    "text", ["{nut: 42,12: 52}", "{a: 1, 2}", "{a: x,2, b: 3}", "{a: [1,2]}", "{1,5: 3}", "{a: '0',6}"]
)
def test_a_comma_that_parts_entries_stays_one(text: str) -> None:
    assert data(text)

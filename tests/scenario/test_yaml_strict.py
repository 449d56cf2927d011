"""The rules of the YAML that is read, one by one, for the C parser and for the pure one."""

from __future__ import annotations

import pytest
import yaml

from console.errors import YamlError
from console.scenario import yaml_text
from console.scenario.yaml_text import MOST_BYTES, NoValue, decode_yaml, parse_yaml, read_yaml

PARSERS = [pytest.param(yaml.SafeLoader, id="pure")]
if yaml.__with_libyaml__:
    PARSERS.append(pytest.param(yaml.CSafeLoader, id="C"))


@pytest.fixture(params=PARSERS, autouse=True)
def parser(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(yaml_text, "_Loader", request.param)


def refused(text: str) -> YamlError:
    with pytest.raises(YamlError) as caught:
        parse_yaml(text, file="craft.yaml")
    return caught.value


@pytest.mark.parametrize(
    "text",
    [
        *("12:30:00", "010", "on", "off", "yes", "no", "y", "0x10", "0o7", "0b1", "1_000", "190:20:30"),
        *(
            "2041-06-02",
            "2041-06-02T03:10:00Z",
            "~",
            "Null",
            "NULL",
            "True",
            "FALSE",
            ".inf",
            "-.inf",
            ".nan",
        ),
        *("NaN", "01.5", "1e", "1.2.3", "320 A*h", "T+12h30m", "=", "1,5", "--1", "+", ".", "e3"),
    ],
)
def test_what_only_looks_like_a_value_stays_text(text: str) -> None:
    assert parse_yaml(f"key: {text}", file="f") == {"key": text}


@pytest.mark.parametrize(
    ("text", "value"),
    [
        *(("null", None), ("", None), ("true", True), ("false", False), ("0", 0), ("-0", 0), ("12", 12)),
        *(("+3", 3), ("-7", -7), ("1e3", 1000.0), ("1E+3", 1000.0), ("0.25", 0.25), (".5", 0.5), ("5.", 5.0)),
        *(("-1.5e-2", -0.015), ("'12'", "12"), ('"true"', "true"), ("''", ""), ("|\n  7", "7")),
    ],
)
def test_null_truth_and_plain_decimal_numbers_are_values(text: str, value: object) -> None:
    tree = parse_yaml(f"key: {text}", file="f")
    assert tree == {"key": value}
    assert isinstance(tree, dict)
    assert type(tree["key"]) is type(value)


def test_the_trap_list_of_yaml_1_1_is_read_as_written() -> None:
    tree = parse_yaml("{clock: 12:30:00, code: 010, switch: on, many: 1e3}", file="f")
    assert tree == {"clock": "12:30:00", "code": "010", "switch": "on", "many": 1000.0}


def test_values_keep_their_lines() -> None:
    tree = parse_yaml("a: 1\nb:\n  c: 2\n\n  d: [3,\n      4]\n", file="f")
    assert isinstance(tree, yaml_text.YamlMapping)
    assert tree.key_lines == {"a": 1, "b": 2}
    inner = tree["b"]
    assert isinstance(inner, yaml_text.YamlMapping)
    assert inner.key_lines == {"c": 3, "d": 5}
    items = inner["d"]
    assert isinstance(items, yaml_text.YamlList)
    assert items.item_lines == [5, 6]


def test_keys_stay_in_the_order_of_the_file() -> None:
    tree = parse_yaml("z: 1\na: 2\nm: 3\n", file="f")
    assert isinstance(tree, dict)
    assert list(tree) == ["z", "a", "m"]


@pytest.mark.parametrize(
    ("text", "line", "found"),
    [
        ("a: 1\nb: &x 2\n", 2, "the anchor &x"),
        ("a: 1\nb: *x\n", 2, "the alias *x"),
        ("a:\n  - &x {b: 1}\n", 2, "the anchor &x"),
        ("a: !!float 3\n", 1, "the tag"),
        ("a: ! 3\n", 1, "the tag"),
        ("a: !thing {b: 1}\n", 1, "the tag"),
        ("a: !!python/object/apply:os.getcwd []\n", 1, "the tag"),
        ("a: {b: 1}\nc:\n  <<: {d: 1}\n", 3, "the merge key"),
        ("a: 1\n---\nb: 2\n", 2, "a second document"),
        ("a: 1\n...\n---\n", 3, "a second document"),
        ("a: 1\n2: b\n", 2, "the key 2, which is not text"),
        ("true: b\n", 1, "the key true, which is not text"),
        ("null: b\n", 1, "an empty key"),
        ("a: 1\n?\n: b\n", 2, "an empty key"),
        ("? [a, b]\n: c\n", 1, "a mapping or list as a key"),
        ("? {a: b}\n: c\n", 1, "a mapping or list as a key"),
        ("a: 1e999\n", 1, "the number 1e999"),
        ("a: 123456789012345678901234567890\n", 1, "too large"),
        ("a:\n\tb: 1\n", 2, "a tab"),
        ("a: b\n\tc\n", 2, "a tab"),
        ("a: [1,\n\t2]\n", 2, "a tab"),
        ("ok: 1\na: [1, 2\nb: 3\n", 2, "a '[' that is not closed"),
        ("ok: 1\na: {b: 1\n", 2, "a '{' that is not closed"),
        ("ok: 1\na: 'b\nc: d\n", 2, "a quote that is not closed"),
        ('ok: 1\na: "b\nc: d\n', 2, "a quote that is not closed"),
        ("a: b: c\n", 1, "a ':' where no key can stand"),
        ("a: @b\n", 1, "'@' at the start of a value"),
        ("a:\n    b: 1\n  c: 2\n", 3, "indented unlike its neighbours"),
        ("", 1, "an empty file"),
        ("# only a comment\n", 1, "an empty file"),
        ("a: 1\nb: \x07\n", 2, "the control character U+0007"),
        ("a: 1\nb: \x00\n", 2, "the control character U+0000"),
        ("a: \ud800\n", 1, "the control character U+D800"),
    ],
)
def test_what_is_refused_is_told_with_its_line(text: str, line: int, found: str) -> None:
    error = refused(text)
    assert error.line == line
    assert found in error.found
    assert error.expected
    assert len(error.faults) == 1
    assert str(error).startswith(f"craft.yaml: line {line}: found ")


def test_a_key_given_twice_is_told_with_both_lines() -> None:
    error = refused("a:\n  volume: 1\n  other: 2\n  volume: 3\n")
    assert error.line == 4
    assert error.found == "the key 'volume' twice, in line 2 and line 4"


def test_a_key_in_quotes_is_the_same_key() -> None:
    assert "twice" in refused("a: 1\n'a': 2\n").found


def test_all_that_can_be_read_past_is_told_at_once() -> None:
    error = refused("a: &x 1\nb: *x\na: 2\n3: c\nd: !t 4\n")
    assert [fault.line for fault in error.faults] == [1, 2, 3, 4, 5]


def test_a_merge_key_with_an_alias_is_one_fault() -> None:
    assert len(refused("a: {<<: *base, b: 1}\n").faults) == 1


def test_the_first_of_two_equal_keys_is_kept_for_further_reading() -> None:
    tree, faults = read_yaml("a: 1\na: 2\nb: *x\nc: !t 4\nd: &y 5\n", file="f")
    assert tree == {"a": 1, "b": NoValue.UNREADABLE, "c": NoValue.UNREADABLE, "d": 5}
    assert len(faults) == 4


def test_thirty_two_levels_are_read_and_thirty_three_are_not() -> None:
    assert parse_yaml("[" * 32 + "]" * 32, file="f")
    assert "32 levels" in refused("[" * 33 + "]" * 33).found
    assert (
        "32 levels" in refused("".join(f"{' ' * depth}k:\n" for depth in range(33)) + " " * 33 + "k: 1").found
    )


def test_very_deep_nesting_is_one_fault_and_no_crash() -> None:
    assert len(refused("[" * 50_000).faults) == 1


def test_a_mebibyte_is_read_and_more_is_not() -> None:
    frame = "a: ''"
    fitting = f"a: '{'x' * (MOST_BYTES - len(frame))}'"
    assert parse_yaml(fitting, file="f")
    assert "more than 1048576 bytes" in refused(fitting + "\n").found
    assert decode_yaml(fitting.encode(), file="f") == fitting
    with pytest.raises(YamlError, match="more than 1048576 bytes"):
        decode_yaml(fitting.encode() + b"\n", file="f")


def test_the_limit_counts_bytes_and_not_characters() -> None:
    assert "bytes" in refused(f"a: '{'é' * (MOST_BYTES // 2)}'").found


def test_bytes_that_are_not_utf_8_are_told_with_their_line() -> None:
    with pytest.raises(YamlError) as caught:
        decode_yaml("a: 1\nb: grün\n".encode("latin-1"), file="plan.yaml")
    assert caught.value.line == 2
    assert "0xfc" in caught.value.found
    assert "UTF-8" in caught.value.expected


def test_a_byte_order_mark_at_the_start_is_passed_over() -> None:
    assert decode_yaml(b"\xef\xbb\xbfa: 1", file="f") == "a: 1"
    assert parse_yaml("\ufeffa: 1", file="f") == {"a": 1}


def test_one_marked_document_is_read() -> None:
    assert parse_yaml("---\na: 1\n...\n", file="f") == {"a": 1}

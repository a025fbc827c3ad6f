"""A TOML file line by line: read quickly when it is plain, and explained when it is wrong."""

import tomllib
from pathlib import Path

import pytest

from cropplan.catalogue.lines import (
    line_at,
    line_numbers,
    plain_tables,
    tables_of,
    toml_tables,
)
from cropplan.catalogue.read import catalog_dir
from cropplan.problems import BadData

PLAIN = """\
# a comment
[crop]
id = "rue"   # its name
ways = ["cutting", "seed"]

[values.cuts]
typical = 3
points = [[10, 43], [15.5, 1e1]]
note = "brackets ] and # and { are text here"
done = true
"""


def test_a_plain_file_is_read_as_the_standard_library_reads_it() -> None:
    """The quick reader may never answer otherwise than tomllib."""
    assert plain_tables(PLAIN) == tomllib.loads(PLAIN)
    assert plain_tables("") == {}


@pytest.mark.parametrize("file", sorted(catalog_dir().rglob("*.toml")), ids=lambda file: file.name)
def test_all_our_files_are_plain(file: Path) -> None:
    """The morning list stays quick only while no file needs the slow reader."""
    text = file.read_text(encoding="utf-8")
    assert plain_tables(text) == tomllib.loads(text)


@pytest.mark.parametrize(
    "text",
    [
        'a = "tab\\t"',
        "a = 'single'",
        'a = """long"""',
        "a = { b = 1 }",
        "a = [\n1,\n2]",
        "a = [1, 2,]",
        "a = 0x1F",
        "a = 1_000",
        "a = +7",
        "a = inf",
        "a = 2026-03-04",
        "a.b = 1",
        '"a b" = 1',
        "[[a]]",
        "[ a ]",
        "\ta = 1",
        "a = 1\r\nb = 2",
    ],
)
def test_what_is_toml_but_not_plain_is_left_to_the_standard_reader(text: str) -> None:
    """None means "ask tomllib", which reads each of these."""
    assert plain_tables(text) is None
    assert toml_tables("f.toml", text) == tomllib.loads(text)


@pytest.mark.parametrize(
    "text",
    [
        "a = 1\na = 2",
        "[a]\n[a]",
        "[a.b]\n[a]\nb = 1",
        "a = 1\n[a]",
        "a = null",
        "a = [null]",
        'a = [{"b": 1}]',
        "a = NaN",
        "a = -Infinity",
        "a = 1 2",
        "a",
        "a = 01",
        "\ufeffa = 1",
        "a = 1\x00",
        'a = "\x7f"',
    ],
)
def test_what_is_json_but_no_toml_is_not_read_quickly(text: str) -> None:
    """Python's JSON scanner knows words that TOML refuses; none of them may slip through."""
    assert plain_tables(text) is None
    with pytest.raises(BadData):
        toml_tables("f.toml", text)


def test_lines_are_known_through_long_texts_and_lists() -> None:
    """A line inside a long text or list that looks like a table is none."""
    text = 'a = """\n[not.a.table]\nb = 1\n"""\nc = [\n  [1, 2],\n  [3, 4]\n]\n["d e".f]\n  g = 5\n'
    assert line_numbers(text) == {
        ("a",): 1,
        ("c",): 5,
        ("d e",): 9,
        ("d e", "f"): 9,
        ("d e", "f", "g"): 10,
    }


def test_a_missing_key_stands_at_the_table_around_it() -> None:
    """A fault for what is not written points at where it should be."""
    numbers = line_numbers(PLAIN)
    assert line_at(numbers, ("values", "cuts", "source")) == 6
    assert line_at(numbers, ("values", "missing")) == 6
    assert line_at(numbers, ("elsewhere",)) is None


def test_one_table_can_be_cut_out_of_a_file() -> None:
    """Of two hundred figures of fish, the morning list wants one species'."""
    text = (catalog_dir() / "fish.toml").read_text(encoding="utf-8")
    part = tables_of(text, ["fish.carp"])
    assert part is not None
    assert plain_tables(part) == {"fish": {"carp": tomllib.loads(text)["fish"]["carp"]}}


@pytest.mark.parametrize(
    "text", ['a = """\n[b.c]\n"""', "  [b.c]\nd = 1", "a = [\n[1, 2],\n]\n[b.c]", "[ b.c ]\nd = 1"]
)
def test_a_file_that_cannot_be_cut_safely_is_not_cut(text: str) -> None:
    """What looks like a table at the start of a line may stand inside a longer value."""
    assert tables_of(text, ["b.c"]) is None


SLIPS = {
    "low = 7,5": "f.toml:3: a number is written with a point: 7.5",
    "low = .5": "f.toml:3: a number needs a digit before the point: 0.5",
    "low = -.5": "f.toml:3: a number needs a digit before the point: -0.5",
    "low = 5.": "f.toml:3: a number needs a digit after the point: 5.0",
    "low = 7-14": "f.toml:3: a range takes two lines: low = 7 and high = 14",
    "low = 7 – 14": "f.toml:3: a range takes two lines: low = 7 and high = 14",
    "low = 7 d": "f.toml:3: a number stands alone: 7, and the unit 'd' on its own line",
    "low = 95%": "f.toml:3: a number stands alone: 95, and the unit '%' on its own line",
    "unit = d": 'f.toml:3: text is written in quotes: "d"',
    "unit = “d”": 'f.toml:3: text is written in straight quotes: "…"',
    "low =": "f.toml:3: a value is missing after the equals sign",
    'unit = "d': "f.toml:3: the text has no closing quote",
    "low: 7": "f.toml:3: a name and its value are joined by an equals sign: low = 7",
    "low\t7": "f.toml:3: a name and its value are joined by an equals sign: low = 7",
    "low 7": "f.toml:3: a name and its value are joined by an equals sign: low = 7",
    "high = 3\nhigh = 4": (
        "f.toml:4: 'high' is written twice in [values.cuts], first on line 3; keep one"
    ),
    "[values.cuts]": "f.toml:3: 'cuts' is written twice in [values], first on line 1; keep one",
    "deep.er = 1\ndeep = 2": "f.toml:4: is not TOML: cannot overwrite a value",
    "points = [[1, 2],\nlow = 3": "f.toml:3: the list begun here is not closed with ]",
    "[values.a b]": "f.toml:3: is not TOML: expected ']' at the end of a table declaration",
    f"low = {'9' * 5000}": "f.toml: a number has thousands of digits",
    f"low = {'[' * 5000}": "f.toml: lists are nested too deep to be read",
}


@pytest.mark.parametrize("slip", SLIPS, ids=lambda slip: slip[:20])
def test_what_a_hand_gets_wrong_is_answered_with_what_to_write(slip: str) -> None:
    """Growers type a decimal comma, `.5`, a key twice, a tab: each gets file, line and the cure."""
    with pytest.raises(BadData) as refused:
        toml_tables("f.toml", f"[values.cuts]\ntypical = 3\n{slip}\nafter = 1\n")
    assert str(refused.value) == SLIPS[slip]


def test_a_fault_at_the_end_of_a_file_has_a_line() -> None:
    """The standard reader says only "at end of document" there."""
    with pytest.raises(BadData, match=r"^f\.toml:2: the text has no closing quote$"):
        toml_tables("f.toml", '[values.cuts]\nnote = "warm')


def test_a_table_of_tables_may_be_written_again() -> None:
    """`[[own]]` twice is a list in TOML; another fault must not be blamed on it."""
    text = "[[a]]\nb = 1\n[[a]]\nb = 2\n[c]\nd = 1\nd = 2\n"
    with pytest.raises(BadData, match=r"^f\.toml:7: 'd' is written twice in \[c\]"):
        toml_tables("f.toml", text)

"""Whatever stands in a file, reading it gives a value or says what is wrong, never a traceback."""

import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cropplan.catalogue.check import check_text
from cropplan.catalogue.lines import line_numbers, plain_tables, tables_of, toml_tables
from cropplan.catalogue.page import at_path
from cropplan.catalogue.read import catalog_dir, crop_from, duty_from, find_crop, read_crop
from cropplan.problems import BadData, Refusal

FILES = {file.name: file.read_text(encoding="utf-8") for file in catalog_dir().rglob("*.toml")}
CROPS = {file.stem for file in (catalog_dir() / "crops").glob("*.toml")}
TOMATO = FILES["tomato.toml"]

SCRAPS = st.sampled_from(
    [
        *("low = 7", "typical = 9", "high = .5", 'unit = "d"', 'unit = "degC d"', 'source = "S01"'),
        *('trust = "read"', "[crop]", "[values]", "[values.cuts]", "[values.pick_interval]", "[["),
        *('id = "tomato"', 'tag = "tom"', 'habit = "fruit"', 'ways = ["seed"]', "ways = []", "]"),
        *("points = [[1, 2]]", "points = [[2, 1], [1, 2]]", "points = []", "typical = nan", "="),
        *("typical = 1e400", "typical = true", "low = {a = 1}", "crop = 5", "values = [1]", '"""'),
        *("[own.tomato.cuts]", "[duty.pull]", "duty = 1", "[caution]", "[media.x]", "media.x = 3"),
        *("[crop.id]", "aliases = [1]", "cautions = 'x'", "x = 0x" + "f" * 9999, "# note", "\t"),
        *("typical = -0", "low = 2026-01-01", "high = 99999999999999999999", "note = '''", "a.b=1"),
        *("x = null", 'x = ["null"]', "x = [NaN]", 'x = {"a": 1}', "x = -Infinity", 'x = "a\\n"'),
    ]
)
TEXTS = st.one_of(
    st.text(),
    st.lists(SCRAPS, max_size=12).map("\n".join),
    st.lists(st.one_of(SCRAPS, st.text(max_size=8)), max_size=12).map("\n".join),
)


@st.composite
def spoilt(draw: st.DrawFn) -> str:
    """The tomato's file with one stretch of it cut out, doubled, or put in place of another."""
    lines = TOMATO.split("\n")
    start = draw(st.integers(0, len(lines) - 1))
    stop = draw(st.integers(start, min(len(lines), start + 4)))
    there = draw(st.integers(0, len(lines) - 1))
    put = draw(
        st.one_of(st.just([]), SCRAPS.map(lambda scrap: [scrap]), st.just(lines[start:stop]))
    )
    if draw(st.booleans()):
        return "\n".join(lines[:start] + put + lines[stop:])
    return "\n".join(lines[:there] + put + lines[there:])


@given(text=st.one_of(TEXTS, spoilt()))
@settings(max_examples=400, deadline=None)
def test_any_text_as_a_crop_file_gives_problems_or_a_crop(text: str) -> None:
    """No text makes the checker fail, and what it passes can be built into a crop."""
    problems = check_text("tomato.toml", text)
    if not problems:
        tables = toml_tables("tomato.toml", text)
        if "crop" in tables:
            assert crop_from(tables).id == "tomato"
    assert all(str(problem).startswith("tomato.toml") for problem in problems)
    assert all("\n" not in problem.message for problem in problems)


@given(text=st.one_of(TEXTS, spoilt()))
@settings(max_examples=300, deadline=None)
def test_any_text_is_read_as_a_crop_or_refused_in_one_line(
    text: str, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """What a grower meets when a file is wrong is one line with the file's name."""
    file = tmp_path_factory.getbasetemp() / "tomato.toml"
    file.write_bytes(text.encode("utf-8", "surrogatepass"))
    said = ""
    try:
        read_crop(file)
    except BadData as refused:
        said = str(refused)
    assert said == "" or said.startswith("tomato.toml")
    assert "\n" not in said


@given(text=st.one_of(TEXTS, spoilt(), st.sampled_from(sorted(FILES.values()))))
@settings(max_examples=400, deadline=None)
def test_the_quick_reader_never_reads_otherwise_than_the_standard_one(text: str) -> None:
    """It answers as tomllib does, or leaves the file to tomllib."""
    quick = plain_tables(text)
    if quick is not None:
        assert repr(quick) == repr(tomllib.loads(text))


@given(text=st.one_of(TEXTS, spoilt()), name=st.sampled_from(["crop", "values.cuts", "own.tomato"]))
@settings(max_examples=300, deadline=None)
def test_a_part_cut_from_a_file_holds_what_the_whole_holds(text: str, name: str) -> None:
    """Reading one table of a file gives that table as the whole file has it."""
    part = tables_of(text, [name])
    cut = None if part is None else plain_tables(part)
    try:
        whole = toml_tables("x.toml", text)
    except BadData:
        return
    if cut is None:
        return
    if f"\n[{name}" in f"\n{text}":
        path = tuple(name.split("."))
        assert at_path(cut, path) == at_path(whole, path)


@given(text=TEXTS)
@settings(max_examples=200, deadline=None)
def test_line_numbers_lie_within_the_text(text: str) -> None:
    """A fault may not point beyond the end of its file."""
    last = text.count("\n") + 1
    assert all(1 <= line <= last for line in line_numbers(text).values())


@given(text=TEXTS)
@settings(max_examples=200, deadline=None)
def test_any_text_as_a_duty_gives_problems_or_a_duty(text: str) -> None:
    """What the checker passes as duties, the reader builds."""
    body = f"[duty.own]\n{text}"
    if not check_text("duties.toml", body):
        for name, table in toml_tables("duties.toml", body).get("duty", {}).items():
            assert duty_from(name, table).id == name


@given(typed=st.text(max_size=30))
@settings(max_examples=100, deadline=None)
def test_any_word_is_a_crop_or_is_refused(typed: str) -> None:
    """A mistyped name never fails otherwise."""
    said = ""
    try:
        assert find_crop(typed) in CROPS
    except Refusal as refused:
        said = str(refused)
    assert said == "" or typed in said


def test_the_files_used_here_were_found() -> None:
    """The strategies above rest on the real catalogue."""
    assert len(FILES) > 20
    assert "tomato" in CROPS

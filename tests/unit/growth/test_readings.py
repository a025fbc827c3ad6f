"""Readings: logs as loggers write them, good and bad."""

import pytest

from cropplan.growth.readings import DayReading, read_days


def days(text: str) -> list[tuple[str, float, float, int]]:
    """The days read from a log, short."""
    return [_short(day) for day in read_days(text, file="log.csv")[0]]


def faults(text: str) -> list[str]:
    """What is wrong with a log, as a person is told."""
    return [str(fault) for fault in read_days(text, file="log.csv")[1]]


def _short(reading: DayReading) -> tuple[str, float, float, int]:
    warmth = reading.warmth
    return str(reading.day), round(warmth.low, 2), round(warmth.high, 2), reading.count


LOW_AND_HIGH = [("2026-02-01", 3.5, 12.5, 1), ("2026-02-02", 4.0, 11.0, 1)]


@pytest.mark.parametrize(
    "text",
    [
        "date,low,high\n2026-02-01,3.5,12.5\n2026-02-02,4,11\n",
        "\ufeffDate;Min °C;Max °C\r\n01.02.2026;3,5;12,5\r\n02.02.2026;4;11\r\n",
        'day\tT max (°C)\tT min (°C)\n2026/2/1\t"12,5"\t3.5\n2026/2/2\t11\t4\n',
        "Logger 7 | Glasshouse\nSerial | 99\nDatum | Tmin | Tmax\n1.2.26 | 3,5 | 12,5\n2.2.26|4|11",
        "2026-02-01,3.5,12.5\n2026-02-02,4,11\n",
        "date,rain,temp_max,temp_min,sky\n2026-02-01,0,12.5,3.5,fog\n2026-02-02,9,11,4,sun\n",
        "Date of export,Temp log\ndate,low,high\n2026-02-02,4,11\n2026-02-01,3.5,12.5\n",
        "date,low (°F),high (°F)\n2026-02-01,38.3,54.5\n2026-02-02,39.2,51.8\n",
        "date,low,high\n2026-02-01,38.3 F,54.5F\n2026-02-02,4 °C,11\n",
    ],
    ids=[
        "plain", "semicolons and decimal commas", "tabs, columns the other way", "after a boast",
        "no header", "more columns", "words above the header", "Fahrenheit", "units in cells",
    ],
)  # fmt: skip
def test_one_log_in_nine_spellings_reads_the_same(text: str) -> None:
    """Separator, decimal mark, date, header and unit are found out; nothing is reported."""
    assert days(text) == LOW_AND_HIGH
    assert faults(text) == []


def test_many_readings_a_day_fold_to_low_and_high() -> None:
    """The coldest and the warmest reading of the day, and how many there were."""
    text = "time,temperature\n" + "".join(
        f"2026-02-01T{hour:02}:00,{10 + abs(12 - hour)}\n" for hour in range(24)
    )
    assert days(text) == [("2026-02-01", 10.0, 22.0, 24)]


def test_a_time_column_of_its_own_tells_readings_apart() -> None:
    """Two readings of one day are not the same row twice; the same moment twice is."""
    text = "Date,Time,Temp (C)\n2026-02-01,06:00,5\n2026-02-01,18:00,9\n2026-02-01,18:00,9\n"
    assert days(text) == [("2026-02-01", 5.0, 9.0, 2)]
    assert faults(text) == ["log.csv:4: 2026-02-01 18:00 repeats line 3; the first is kept"]


def test_readings_without_a_time_are_all_heard() -> None:
    """A log that gives only the day may give it often."""
    assert days("date,temp\n2026-02-01,5\n2026-02-01,5\n2026-02-01,9\n") == [
        ("2026-02-01", 5.0, 9.0, 3)
    ]


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("2026-02-02,-127,11", "'-127' is -127 °C, which no house has; left out"),
        ("2026-02-02,9,3", "the low of 9.0 °C is above the high of 3.0 °C"),
        ("2026-02-02,,11", "the temperature is missing"),
        ("2026-02-02,n/a,11", "'n/a' is not a temperature"),
        ("2026-02-30,4,11", "'2026-02-30' is not a date; write it as 2026-03-31"),
        ("yesterday,4,11", "'yesterday' is not a date; write it as 2026-03-31"),
        (
            "2026-02-02,4,5,11",
            "4 cells where 3 are wanted; with decimal commas, part the columns with semicolons",
        ),
        ("2026-02-02,4", "2 cells where 3 are wanted"),
        ("2026-02-01,3.5,12.5", "2026-02-01 repeats line 2; the first is kept"),
        ("2026-02-01,3.5,13", "2026-02-01 differs from line 2; the first is kept"),
    ],
)
def test_a_bad_row_is_reported_by_line_and_the_rest_is_read(row: str, said: str) -> None:
    """One bad line never hides the next: the days around it come back."""
    text = f"date,low,high\n2026-02-01,3.5,12.5\n{row}\n2026-02-02,4,11\n"
    assert faults(text) == [f"log.csv:3: {said}"]
    assert days(text) == LOW_AND_HIGH


def test_a_gap_is_reported_at_the_row_after_it() -> None:
    """Missing days are named; one day and many are said differently."""
    text = "date,low,high\n2026-02-01,1,2\n2026-02-03,1,2\n2026-02-07,1,2\n"
    assert faults(text) == [
        "log.csv:3: no reading on 2026-02-02",
        "log.csv:4: no reading from 2026-02-04 to 2026-02-06, 3 days",
    ]


def test_a_day_with_few_of_its_readings_is_left_out() -> None:
    """A log begun at four in the afternoon has not seen that day's low."""
    text = "time,temp\n" + "".join(
        f"2026-02-0{day} {hour:02}:00,{hour}\n"
        for day in (1, 2, 3)
        for hour in range(16 if day == 1 else 0, 24)
    )
    assert [day for day, *_ in days(text)] == ["2026-02-02", "2026-02-03"]
    assert faults(text) == [
        "log.csv:2: only 8 of some 24 readings on 2026-02-01; the day is left out"
    ]


def test_high_figures_without_a_unit_are_read_as_fahrenheit_and_said_to_be() -> None:
    """A winter of 40 to 70 is no winter in °C."""
    text = "date,low,high\n2026-02-01,41,68\n"
    assert days(text) == [("2026-02-01", 5.0, 20.0, 1)]
    assert "read as °F; write the unit in the header" in faults(text)[0]


def test_the_caller_may_say_the_unit_that_the_log_does_not() -> None:
    """Told °C, hot figures stay as they are; the log's own word would still win."""
    told, said = read_days("date,low,high\n2026-07-01,41,48\n", file="log.csv", unit="C")
    assert [_short(day) for day in told] == [("2026-07-01", 41.0, 48.0, 1)]
    assert said == ()
    own, _ = read_days("date,low °F,high °F\n2026-07-01,50,68\n", file="log.csv", unit="C")
    assert [_short(day) for day in own] == [("2026-07-01", 10.0, 20.0, 1)]


@pytest.mark.parametrize(
    ("dates", "expected"),
    [
        (("28/02/2026", "01/03/2026"), ["2026-02-28", "2026-03-01"]),
        (("02/28/2026", "03/01/2026"), ["2026-02-28", "2026-03-01"]),
        (("01/02/2026", "02/02/2026"), ["2026-02-01", "2026-02-02"]),
        (("02/01/2026", "02/02/2026"), ["2026-02-01", "2026-02-02"]),
        (("05/05/2026",), ["2026-05-05"]),
    ],
)
def test_the_order_of_day_and_month_is_told_from_the_log(
    dates: tuple[str, ...], expected: list[str]
) -> None:
    """A figure above twelve tells; else the order in which the log goes on from day to day."""
    text = "date,low,high\n" + "".join(f"{day},1,2\n" for day in dates)
    assert [day for day, *_ in days(text)] == expected


def test_dates_that_cannot_be_told_are_refused_with_the_way_to_write_them() -> None:
    """One row of 03/04 is March or April; nothing is read and the cure is named."""
    text = "date,low,high\n03/04/2026,1,2\n"
    assert days(text) == []
    (said,) = faults(text)
    assert said.startswith("log.csv: the dates could be read with the day or with the month first")
    assert said.endswith("write them as 2026-03-31")


@pytest.mark.parametrize(
    "text", ["", "name,weight\nA,3\n", "2026-02-01\n", "date,dew point\n1,2", "2026-02-01,fog"]
)
def test_a_file_that_is_no_temperature_log_says_what_one_looks_like(text: str) -> None:
    """No columns, no days, and an example of a header."""
    assert days(text) == []
    assert "for example 'date,low,high'" in faults(text)[0]


def test_a_second_thermometer_is_passed_over_and_named() -> None:
    """The first temperature column is read; the other is not read silently."""
    text = "time,Temp bench,Temp roof,Humidity\n2026-02-01 00:00,5,9,80\n"
    assert days(text) == [("2026-02-01", 5.0, 5.0, 1)]
    assert faults(text) == ["log.csv: column 'Temp roof' holds temperatures too; not read"]


def test_only_a_low_column_is_read_as_single_readings_beside_it() -> None:
    """A header with a minimum but no maximum falls back on the plain temperature column."""
    assert days("date,min,temp\n2026-02-01,5,9\n") == [("2026-02-01", 9.0, 9.0, 1)]


def test_a_field_too_large_to_read_ends_the_reading_not_the_program() -> None:
    """The csv reader's own refusal becomes a problem with its line."""
    text = "date,low,high\n2026-02-01,1,2\n" + '"' + "x" * 200_000
    assert days(text) == [("2026-02-01", 1.0, 2.0, 1)]
    assert "not read on" in faults(text)[0]

"""Shot logs: whatever a spreadsheet writes gives the same shots, and faults are told at once."""

from __future__ import annotations

import csv
import io
import time
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.course.lies import Lie
from planner.demo_data import demo_bag, demo_bag_names, demo_folder
from planner.errors import OptionError, ShotLogError
from planner.golfer import shot_log_text
from planner.golfer.bag import read_bag
from planner.golfer.club_names import matching_club
from planner.golfer.shot_log import LogReading, ShotLog
from planner.golfer.shot_log_columns import find_columns, map_from_text
from planner.golfer.shot_log_reading import read_shot_log, read_shots, units_unknown
from planner.golfer.shot_log_text import split_rows
from planner.golfer.shot_log_values import Fault, Measure, lie_of, measure
from planner.units import M_PER_FT, M_PER_YD, DistanceUnit

HEADINGS = ["Club", "Carry (m)", "Offline (m)", "Total (m)", "Lie", "Outcome", "Date", "Notes"]
ENCODINGS = ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"]


def read_text(
    text: str | bytes,
    unit: DistanceUnit | None = None,
    chosen: dict[str, str] | None = None,
) -> LogReading:
    content = text if isinstance(text, bytes) else text.encode()
    split = split_rows("log.csv", content)
    return read_shots(split, find_columns(split, chosen), unit=unit)


def problems_of(text: str | bytes, **options: object) -> str:
    with pytest.raises(ShotLogError) as caught:
        read_text(text, **options)  # type: ignore[arg-type]
    return "\n".join(caught.value.problems)


def written(rows: Sequence[Sequence[str]], separator: str, ending: str) -> str:
    out = io.StringIO()
    csv.writer(out, delimiter=separator, lineterminator=ending).writerows(rows)
    return out.getvalue()


def number(value: float, comma: bool) -> str:
    return f"{value:.1f}".replace(".", ",") if comma else f"{value:.1f}"


SHOT = st.tuples(
    st.sampled_from(["Driver", "7 iron", "Sändeisen 56°"]),
    st.integers(0, 3000).map(lambda n: n / 10),
    st.integers(-900, 900).map(lambda n: n / 10),
    st.none() | st.integers(0, 3300).map(lambda n: n / 10),
    st.sampled_from(["tee", "fairway", "rough", ""]),
    st.sampled_from(["", "topped", "good; very", 'he said "fore"', "two\nlines", "a|b,c\td"]),
)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(SHOT, min_size=1, max_size=8),
    st.sampled_from(ENCODINGS),
    st.sampled_from([",", ";", "\t", "|"]),
    st.booleans(),
    st.sampled_from(["\n", "\r\n"]),
    st.sampled_from(["signed", "after", "before"]),
)
def test_encoding_separator_and_decimal_comma_change_nothing(
    shots: list[tuple[str, float, float, float | None, str, str]],
    encoding: str,
    separator: str,
    comma: bool,
    ending: str,
    style: str,
) -> None:
    rows = [HEADINGS]
    lines, line = [], 2
    for club, carry, offline, total, lie, outcome in shots:
        if style == "signed":
            said = number(offline, comma)
        else:
            side = "left" if offline < 0 else "R"
            amount = number(abs(offline), comma)
            said = f"{amount} {side}" if style == "after" else f"{side}{amount}"
        totals = "" if total is None else number(total, comma)
        rows.append([club, number(carry, comma), said, totals, lie, outcome, "2026-05-01", ""])
        lines.append(line)
        line += 2 if "\n" in outcome else 1
    text = written(rows, separator, ending)
    reading = read_text(text.encode(encoding))
    log = reading.log
    assert reading.rejected == ()
    assert log.club == tuple(shot[0] for shot in shots)
    np.testing.assert_allclose(log.carry_m, [shot[1] for shot in shots], atol=1e-9)
    np.testing.assert_allclose(log.offline_m, [shot[2] for shot in shots], atol=1e-9)
    wanted = [np.nan if shot[3] is None else shot[3] for shot in shots]
    np.testing.assert_allclose(log.total_m, wanted, atol=1e-9)
    assert log.outcome == tuple(" ".join(shot[5].split()) for shot in shots)
    assert log.row.tolist() == lines
    assert log.days == 1


@pytest.mark.parametrize(
    ("cell", "metres"),
    [
        ("12", 12),
        ("-12", -12),
        ("+12", 12),
        ("\u221212,5", -12.5),
        ("\u20133", -3),
        ("12 L", -12),
        ("12L", -12),
        ("L 12", -12),
        ("l12", -12),
        ("left 12", -12),
        ("Left 12.5", -12.5),
        ("12 left", -12),
        ("12 m left", -12),
        ("12 (R)", 12),
        ("12 right", 12),
        ("R12", 12),
        ("12,5 rechts", 12.5),
        ("8 yd right", 8 * M_PER_YD),
        ("9 ft L", -9 * M_PER_FT),
        (".5", 0.5),
        ("straight", 0),
        ("0", 0),
    ],
)
def test_sides(cell: str, metres: float) -> None:
    log = read_text(f'Carry (m);Offline (m)\n140;"{cell}"\n').log
    assert log.offline_m[0] == pytest.approx(metres, abs=1e-12)


@pytest.mark.parametrize(
    "cell", ["-12 L", "L 12 R", "12 up", "=A1+3", "1.234,5", "1,234.5", "inf", "1e400", "0x12"]
)
def test_what_is_no_side(cell: str) -> None:
    reading = read_text(f'Carry (m);Offline (m)\n140;1\n141;"{cell}"\n')
    (fault,) = reading.rejected
    assert (fault.line, fault.column, fault.value) == (3, "Offline (m)", cell)
    assert fault.reason
    assert fault.remedy


def test_missing_cells_of_every_kind() -> None:
    for cell in ("", "-", "--", "n/a", "N/A", "NaN", "?", " "):
        assert measure(cell) is None
    assert isinstance(measure("abc"), Fault)
    assert measure("+7") == Measure(7.0, True, None, None)


# Units ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("heading", "unit_m"),
    [
        ("Carry (yd)", M_PER_YD),
        ("Carry [yards]", M_PER_YD),
        ("carry_yds", M_PER_YD),
        ("Carry Yards", M_PER_YD),
        ("CarryMeters", 1.0),
        ("Carry, m", 1.0),
        ("Carry (m)", 1.0),
        ("Carry (ft)", M_PER_FT),
    ],
)
def test_unit_of_a_heading(heading: str, unit_m: float) -> None:
    reading = read_text(f'"{heading}";Offline (ft)\n100;10\n')
    assert reading.log.carry_m[0] == pytest.approx(100 * unit_m)
    assert reading.log.offline_m[0] == pytest.approx(10 * M_PER_FT)


def test_no_unit_is_asked_for_and_never_guessed() -> None:
    text = split_rows("log.csv", b"Carry,Offline\n150,3\n")
    columns = find_columns(text)
    assert units_unknown(text, columns) == ("carry", "offline")
    said = problems_of("Carry,Offline\n150,3\n")
    assert '"Carry", "Offline"' in said
    assert "metres or yards" in said
    yards = read_text("Carry,Offline\n150,3\n", DistanceUnit.YARDS).log
    assert yards.carry_m[0] == pytest.approx(137.16)
    reading = read_text("Carry,Offline\n150,3\n", DistanceUnit.METRES)
    assert reading.log.carry_m[0] == 150.0
    assert ("carry", "Carry", "metres") in reading.columns.said()


def test_unit_of_one_heading_is_taken_for_the_others_and_said() -> None:
    reading = read_text("Carry (yd),Side\n150,3\n")
    assert reading.log.offline_m[0] == pytest.approx(3 * M_PER_YD)
    assert reading.notes == ('"Side": no unit is given; that of the other distances is taken',)


def test_two_units_do_not_tell_a_third() -> None:
    assert '"Total"' in problems_of("Carry (yd),Side (ft),Total\n150,3,160\n")


def test_headings_keep_their_unit_against_the_option() -> None:
    reading = read_text("Carry (m),Side\n150,10\n", DistanceUnit.YARDS)
    assert reading.log.carry_m[0] == 150.0
    assert reading.log.offline_m[0] == pytest.approx(9.144)
    assert any("keep it" in note for note in reading.notes)


def test_units_in_every_cell() -> None:
    reading = read_text("Carry,Side\n150 yd,3 yd L\n140 yd,0\n")
    log = reading.log
    assert ("carry", "Carry", "") in reading.columns.said()
    np.testing.assert_allclose(log.carry_m, [137.16, 128.016])
    np.testing.assert_allclose(log.offline_m, [-2.7432, 0.0])
    assert "metres or yards" in problems_of("Carry,Side\n150 yd,3\n140,0\n")


def test_units_in_a_row_below_the_headings() -> None:
    log = read_text("Carry,Side,Speed\n[yd],[yd],[mph]\n150,10,90\n").log
    np.testing.assert_allclose([log.carry_m[0], log.offline_m[0]], [137.16, 9.144])
    assert log.row.tolist() == [3]


# Columns ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("headings", "found"),
    [
        ("Club;Carry;Offline", {"club": 0, "carry": 1, "offline": 2}),
        ("DATE;CLUB NAME;CARRY DISTANCE;SIDE;TOTAL DISTANCE", {"carry": 2, "total": 4, "club": 1}),
        ("Club Speed;Carry;Launch Angle;Side Angle (deg);Lateral", {"carry": 1, "offline": 4}),
        ("total carry;carry;total side;carry side", {"carry": 1, "offline": 3}),
        ("Schläger;Carry;Seite;Gesamt;Lage;Datum;Ergebnis", {"club": 0, "offline": 2, "total": 3}),
        ("carry_m;left_right_m", {"carry": 0, "offline": 1}),
        ("CarryDistance;OffLine", {"carry": 0, "offline": 1}),
        ("Portée;Écart;Jour", {"carry": 0, "offline": 1, "date": 2}),
    ],
)
def test_columns_by_heading(headings: str, found: dict[str, int]) -> None:
    columns = find_columns(split_rows("log.csv", f"{headings}\n".encode()))
    assert {field: columns.index.get(field) for field in found} == found


def test_a_distance_that_may_be_carry_or_total_is_not_guessed() -> None:
    said = problems_of("Club,Distance (m),Offline (m)\nDriver,200,3\n")
    assert "no column is known to be carry" in said
    assert '"Distance (m)"' in said
    chosen = {"carry": "Distance (m)"}
    assert (
        read_text("Club,Distance (m),Offline (m)\nD,200,3\n", chosen=chosen).log.carry_m[0] == 200
    )


def test_two_fitting_columns_are_said() -> None:
    reading = read_text("Carry (m),Carry (yd),Side (m)\n100,109,3\n")
    assert reading.log.carry_m[0] == 100.0
    assert 'carry is read from "Carry (m)", not from "Carry (yd)"' in reading.notes


def test_chosen_columns_by_heading_and_number() -> None:
    text = "a, b;Side, m;x\n1;2;3\n"
    log = read_text(text, DistanceUnit.METRES, {"carry": "A, B", "offline": "3"}).log
    assert (log.carry_m[0], log.offline_m[0]) == (1.0, 3.0)
    # Without its unit a heading is known as well.
    log = read_text("Flug (m);Weg (m)\n1;2\n", None, {"carry": "flug", "offline": "weg"}).log
    assert (log.carry_m[0], log.offline_m[0]) == (1.0, 2.0)


def test_a_file_without_headings_needs_numbers() -> None:
    assert "numbers where the headings should be" in problems_of("D;200;3\n7i;140;-5\n")
    chosen = {"club": "1", "carry": "2", "offline": "3"}
    log = read_text("D;200;3\n7i;140;-5\n", DistanceUnit.METRES, chosen).log
    assert log.row.tolist() == [1, 2]
    assert log.club == ("D", "7i")


def test_a_wrong_choice_names_the_columns() -> None:
    said = problems_of("Carry (m);Side (m)\n1;2\n", chosen={"carry": "Cary (m)", "total": "Sum"})
    assert 'carry: no column is called "Cary (m)"; did you mean "Carry (m)"?' in said
    assert 'total: no column is called "Sum"; the columns are "Carry (m)", "Side (m)"' in said


def test_one_column_cannot_be_two_things() -> None:
    said = problems_of("Carry (m);Side (m)\n1;2\n", chosen={"offline": "Carry (m)", "carry": "1"})
    assert "is used for carry and offline" in said


def test_map_as_typed() -> None:
    assert map_from_text(["carry=Carry, yd,offline=Side", 'Club="No. 1"', "total="]) == {
        "carry": "Carry, yd",
        "offline": "Side",
        "club": "No. 1",
        "total": "",
    }
    assert map_from_text(None) == {}
    for wrong in ("carry", "cary=1", "carry=1,carry=2", "=x"):
        with pytest.raises(OptionError):
            map_from_text([wrong])


def test_columns_can_be_put_elsewhere_with_their_units() -> None:
    columns = find_columns(split_rows("x", b"Carry (m);Total (yd);Side (m)\n1;2;3\n"))
    moved = columns.with_fields({"carry": 1, "total": None})
    assert moved.index == {"carry": 1, "offline": 2}
    assert moved.unit_m == {"carry": M_PER_YD, "offline": 1.0}
    assert columns.with_fields({}).index == columns.index
    assert columns.with_fields({"carry": None}).missing == ("carry",)


def test_titles_above_the_headings_and_a_stated_separator() -> None:
    text = "sep=;\nMy summer, 2026\n\nClub;Carry (m);Side (m)\n7i;140,5;-3\n"
    log = read_text(text).log
    assert log.carry_m.tolist() == [140.5]
    assert log.row.tolist() == [5]


def test_decimal_commas_do_not_pass_for_separators() -> None:
    rows = "\n".join(f"{100 + i},5;{i},25" for i in range(30))
    log = read_text(f"Carry (m);Side (m)\n{rows}\n").log
    assert log.carry_m[3] == 103.5
    assert log.offline_m[3] == 3.25


# Faults -----------------------------------------------------------------------------------------

EIGHT = """Club,Carry (m),Side (m),Total (m),Lie,Notes
7 iron,140,2,150,mat,"a note
on two lines"
7 iron,abc,2,150,mat,
7 iron,,2,150,mat,
,140,2,150,mat,
7 iron,140,12 X,150,mat,
7 iron,140,2,150,swamp,

7 iron,1400,2,150,mat,
7 iron,140,2,-5,mat,
7 iron,140,2,150,mat,fine,one too many
7 iron,141,2,150,fairway,=1+1
"""


def test_every_fault_with_its_line_column_value_reason_and_remedy() -> None:
    reading = read_text(EIGHT)
    assert [(f.line, f.column, f.value) for f in reading.rejected] == [
        (4, "Carry (m)", "abc"),
        (5, "Carry (m)", ""),
        (6, "Club", ""),
        (7, "Side (m)", "12 X"),
        (8, "Lie", "swamp"),
        (10, "Carry (m)", "1400"),
        (11, "Total (m)", "-5"),
        (12, "whole row", "7 iron,140,2,150,mat,fine,one too many"),
    ]
    assert all(fault.reason and fault.remedy for fault in reading.rejected)
    assert reading.log.row.tolist() == [2, 13]
    assert reading.log.lie == (None, Lie.FAIRWAY)


def test_a_row_with_two_faults_says_both_and_is_not_half_used() -> None:
    reading = read_text("Carry (m);Side (m)\n150;1\nx;y\n")
    assert [fault.line for fault in reading.rejected] == [3, 3]
    assert len(reading.log) == 1


def test_nothing_usable_is_an_error_with_the_reasons() -> None:
    said = problems_of("Carry (m);Side (m)\nx;1\n150;y\n")
    assert "no shot can be used" in said
    assert 'line 2, Carry (m): "x"' in said
    assert 'line 3, Side (m): "y"' in said
    assert "no row below the headings" in problems_of("Carry (m);Side (m)\n")


def test_rows_of_averages_and_repeated_headings_are_no_shots() -> None:
    head = "Club;Carry (m);Side (m)\n"
    reading = read_text(f"{head}7i;140;2\n{head}7i;141;3\nAverage;140,5;2,5\nStd. Dev.;1;1\n")
    assert reading.log.carry_m.tolist() == [140.0, 141.0]
    assert [fault.line for fault in reading.rejected] == [5, 6]
    assert any("repeated heading" in note for note in reading.notes)


def test_formulas_and_huge_cells_are_text() -> None:
    huge = "x" * 300_000
    text = f'Club;Carry (m);Side (m);Notes\n=cmd();140;1;"{huge}"\n{huge};141;2;@SUM(A1)\n'
    reading = read_text(text)
    assert reading.log.club == ("=cmd()", huge)
    reading = read_text(f"Club;Carry (m);Side (m)\nD;200;1\nD;{huge};2\n")
    (fault,) = reading.rejected
    assert len(fault.value) < 60


def test_files_that_are_no_log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert "workbook" in problems_of(b"PK\x03\x04abc")
    assert "PDF" in problems_of(b"%PDF-1.7")
    assert "holds no rows" in problems_of(b"")
    assert "holds no rows" in problems_of(b"\xff\xfe")
    assert "never closed" in problems_of('Carry (m);Side (m)\n1;2\n3;"4\n5;6\n')
    assert "cells" in problems_of(";" * 1000 + "x")
    with pytest.raises(ShotLogError, match="does not exist"):
        read_shot_log(tmp_path / "none.csv")
    with pytest.raises(ShotLogError, match="folder"):
        read_shot_log(tmp_path)
    monkeypatch.setattr(shot_log_text, "MAX_ROWS", 3)
    assert "more than 3 rows" in problems_of("Carry (m);Side (m)\n" + "1;2\n" * 5)
    monkeypatch.setattr(shot_log_text, "MAX_FILE_BYTES", 10)
    path = tmp_path / "large.csv"
    path.write_text("Carry (m);Side (m)\n1;2\n", encoding="utf-8")
    with pytest.raises(ShotLogError, match="at most 1e-05 MB"):
        read_shot_log(path)


@given(st.binary(max_size=400))
@settings(max_examples=150, deadline=None)
def test_any_bytes_are_read_or_refused_with_a_reason(content: bytes) -> None:
    problems: tuple[str, ...] = ()
    shots = 0
    try:
        shots = len(read_text(content, DistanceUnit.METRES).log)
    except ShotLogError as error:
        problems = error.problems
    assert shots > 0 or (problems and all(problem.strip() for problem in problems))


def test_odd_columns_are_pointed_out() -> None:
    rows = "".join(f"{150 + i};{i};{100 + i}\n" for i in range(12))
    notes = read_text(f"Carry (m);Side (m);Total (m)\n{rows}").notes
    assert any("mixed up" in note for note in notes)
    assert any("no shot went left" in note for note in notes)


def test_lies_by_word() -> None:
    assert lie_of("Heavy-Rough") is Lie.DEEP_ROUGH
    assert lie_of(" BUNKER ") is Lie.SAND
    assert lie_of("tee box") is Lie.TEE
    assert lie_of("mat") is None
    assert lie_of("") is None
    assert isinstance(lie_of("car park"), Fault)


def test_columns_of_a_log_have_one_length() -> None:
    good = np.array([1.0, 2.0])
    texts = ("", "")
    with pytest.raises(ValueError, match="shape"):
        ShotLog(texts, good[:1], good, good, (None, None), texts, texts, np.array([1, 2]))
    with pytest.raises(ValueError, match="entries"):
        ShotLog(texts, good, good, good, (None,), texts, texts, np.array([1, 2]))
    with pytest.raises(ValueError, match="finite"):
        ShotLog(texts, good * np.nan, good, good, (None, None), texts, texts, np.array([1, 2]))
    log = ShotLog(texts, good, good, good, (None, None), texts, texts, np.array([1, 2]))
    with pytest.raises(ValueError, match="read-only"):
        log.carry_m[0] = 3.0


def test_days_are_counted_without_the_time() -> None:
    rows = "1.5.26 09:30;100;1\n1.5.26 18:02;100;1\n2026-05-02T08:00;100;1\n12 May 2026;100;1\n"
    assert read_text(f"Date;Carry (m);Side (m)\n{rows}").log.days == 3


# Demo logs --------------------------------------------------------------------------------------


@pytest.mark.parametrize("stem", demo_bag_names())
def test_demo_log_of_every_demo_golfer(stem: str) -> None:
    reading = read_shot_log(demo_folder() / "shots" / f"{stem}.csv")
    bag = read_bag(demo_bag(stem))
    log = reading.log
    assert len(log) > 150
    assert log.days >= 7
    assert all(matching_club(name, bag.clubs) is not None for name in set(log.club))
    assert reading.columns.unit_m["carry"] == bag.unit.metres
    # Kept by people: some rows cannot be used, and sessions are uneven.
    assert 2 <= len(reading.rejected) < 10
    days = [log.day(i) for i in range(len(log))]
    counts = sorted(days.count(day) for day in set(days))
    assert counts[-1] >= 1.5 * counts[0]
    # Bad shots are left in: some carry far less than the club usually does.
    usual = {name: np.median(log.carry_m[np.array(log.club) == name]) for name in set(log.club)}
    short = np.mean([c < 0.6 * usual[n] for n, c in zip(log.club, log.carry_m, strict=True)])
    assert (0.005 if bag.golfer.handicap_index < 5 else 0.02) < short < 0.3


def test_demo_log_in_yards_with_decimal_commas() -> None:
    reading = read_shot_log(demo_folder() / "shots" / "tobias_fennimark.csv")
    assert (reading.text.separator, reading.text.encoding) == (";", "cp1252")
    assert reading.columns.unit_m["carry"] == M_PER_YD
    raw = (demo_folder() / "shots" / "tobias_fennimark.csv").read_bytes()
    assert b"121,3" in raw
    assert reading.log.carry_m[0] == pytest.approx(121.3 * M_PER_YD)


@pytest.mark.slow
def test_a_hundred_thousand_rows_in_less_than_five_seconds(tmp_path: Path) -> None:
    rng = np.random.default_rng(3)
    rows = [
        f"{i % 28 + 1}.5.26;7 iron;{c:.1f};{'L' if o < 0 else 'R'} {abs(o):.1f};{c + 9:.1f};rough;x"
        for i, (c, o) in enumerate(rng.normal((140.0, 0.0), (11.0, 12.0), (100_000, 2)))
    ]
    text = "Date;Club;Carry (yd);Side;Total (yd);Lie;Notes\n" + "\n".join(rows).replace(".", ",")
    path = tmp_path / "large.csv"
    path.write_bytes(text.encode("utf-16"))
    start = time.process_time()
    reading = read_shot_log(path)
    assert time.process_time() - start < 5.0
    assert len(reading.log) == 100_000

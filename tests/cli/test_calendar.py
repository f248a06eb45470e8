"""A season's days in a calendar file: read back, exported again, and changed in between."""

from __future__ import annotations

import os
import shutil
from datetime import date, datetime, timedelta, timezone
from functools import lru_cache
from pathlib import Path

import openpyxl
import pytest
from icalendar import Calendar

from sheetfuncs.cells.errors import InputError
from sheetfuncs.functions.arguments import chance_text
from sheetfuncs.planner import build_template, invented
from sheetfuncs.planner.sheets import positions, rounds, trees
from sheetfuncs.xlsx import read_sheet

TREES = trees.table(1)
ROUNDS = rounds.table(1)


def events(path: Path) -> dict[str, object]:
    """Return the entries of a file by what they are called, without the mark of an invented book."""
    found = Calendar.from_ical(path.read_bytes()).walk("VEVENT")
    assert len({str(event["UID"]) for event in found}) == len(found)
    return {str(event["SUMMARY"]).removeprefix("INVENTED: "): event for event in found}


@lru_cache(maxsize=4)
def _stored(path: Path, sheet: str, _state: tuple[int, int]) -> dict[str, object]:
    return read_sheet(path, sheet)


def rows(path: Path, table) -> list[dict[str, object]]:
    """Return the rows of a table as the file holds them."""
    state = path.stat()
    cells = _stored(path, table.sheet, (state.st_mtime_ns, state.st_size))
    found = []
    for row in range(table.first_row, table.first_row + 60):
        line = {column.key: cells.get(f"{table.letter(column.key)}{row}") for column in table.columns}
        found.append({key: None if value == "" else value for key, value in line.items()})
    return found


def type_in(path: Path, sheet: str, cells: dict[str, object]) -> None:
    """Type into a workbook as an office program would."""
    book = openpyxl.load_workbook(path)
    for address, value in cells.items():
        book[sheet][address].value = value
    book.save(path)


def row_of(path: Path, tag: str) -> int:
    numbers = range(TREES.first_row, TREES.first_row + 60)
    cells = read_sheet(path, trees.NAME)
    return next(row for row in numbers if cells.get(f"{TREES.letter('tag')}{row}") == tag)


@pytest.fixture(scope="module")
def exported(small_demo_path: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    from click.testing import CliRunner

    from sheetfuncs.cli.app import app

    out = tmp_path_factory.mktemp("calendar") / "season.ics"
    result = CliRunner().invoke(app, ["calendar", str(small_demo_path), "-o", str(out)])
    assert result.exit_code == 0, result.output
    return out


# -- what is in it ---------------------------------------------------------------------------------------------


def bare(path: Path) -> set[object]:
    """Return the trees that are not cut, and on which no buds were seen."""
    return {row["tag"] for row in rows(path, TREES) if row["buds"] == "no" and row["cut_on"] is None}


def test_every_visit_is_one_entry_with_its_trees(exported, small_demo_path):
    visits: dict[date, list[str]] = {}
    assert bare(small_demo_path)
    for row in rows(small_demo_path, ROUNDS):
        if isinstance(row["number"], (int, float)) and row["tag"] not in bare(small_demo_path):
            visits.setdefault(row["day"].date(), []).append(row["tag"])
    assert len(visits) > 1
    found = {name: event for name, event in events(exported).items() if name.startswith("Visit ")}
    assert sorted(event.decoded("DTSTART") for event in found.values()) == sorted(visits)
    for event in found.values():
        tags = visits[event.decoded("DTSTART")]
        text = str(event["DESCRIPTION"])
        assert [line.split(":")[0] for line in text.splitlines()[: len(tags)]] == tags
        assert str(event["SUMMARY"]).endswith(f"cut {len(tags)} fig tree{'s' if len(tags) > 1 else ''}")
        assert "at least 70% of the seasons" in text
        assert "Wear gloves" in text
        [reminder] = event.walk("VALARM")
        assert reminder.decoded("TRIGGER") == timedelta(hours=-6)
        assert str(reminder["DESCRIPTION"]) == str(event["SUMMARY"])


def test_picking_starts_on_the_first_ripe_date_of_each_tree_that_is_or_can_be_cut(exported, small_demo_path):
    expected = {
        f"First figs of {row['tag']}": (row["first_ripe"].date(), row["chance"])
        for row in rows(small_demo_path, TREES)
        if isinstance(row["first_ripe"], datetime)
        and (row["cut_on"] is not None or row["spare"] >= 0)
        and row["tag"] not in bare(small_demo_path)
    }
    found = {name: event for name, event in events(exported).items() if name.startswith("First figs")}
    assert {name: event.decoded("DTSTART") for name, event in found.items()} == {
        name: day for name, (day, _) in expected.items()
    }
    for name, (_, chance) in expected.items():
        sentence = f"Chance of first figs before the season's end: {chance_text(chance)}."
        assert sentence in str(found[name]["DESCRIPTION"])


def test_winter_days_are_there_for_positions_with_trees(exported, small_demo_path):
    expected = {}
    for row in rows(small_demo_path, positions.TABLE):
        if row["name"] is None or not isinstance(row["shelter"], datetime):
            continue
        if row["containers"]:
            expected[f"Containers under shelter by today: {row['name']}"] = row["shelter"].date()
        if row["ground"]:
            expected[f"Trees in the ground wrapped by today: {row['name']}"] = row["wrap"].date()
        if row["containers"] or row["ground"]:
            expected[f"Out again, unwrapped, from today: {row['name']}"] = row["outside"].date()
    found = {name: event.decoded("DTSTART") for name, event in events(exported).items() if ": " in name}
    found = {name: day for name, day in found.items() if not name.startswith("Visit")}
    assert expected
    assert found == expected


def test_entries_are_whole_days_marked_as_estimates_and_as_invented(exported):
    for event in events(exported).values():
        assert type(event.decoded("DTSTART")) is date
        assert (event.decoded("DTEND") - event.decoded("DTSTART")).days == 1
        assert str(event["SUMMARY"]).startswith("INVENTED: ")
        assert str(event["DESCRIPTION"]).endswith(invented.BANNER)
        assert "estimates from past seasons, not a promise" in str(event["DESCRIPTION"])
        assert event["TRANSP"] == "TRANSPARENT"
        assert event.decoded("DTSTAMP") == datetime(2026, 6, 22, tzinfo=timezone.utc)


def test_the_file_keeps_the_standards_rules_of_lines(exported):
    raw = exported.read_bytes()
    lines = raw.split(b"\r\n")
    assert b"\n" not in raw.replace(b"\r\n", b"")
    assert max(map(len, lines)) <= 75
    assert (lines[0], lines[-2], lines[-1]) == (b"BEGIN:VCALENDAR", b"END:VCALENDAR", b"")
    assert b"VERSION:2.0" in lines


# -- exported again --------------------------------------------------------------------------------------------


@pytest.mark.usefixtures("answers_as_they_are")
def test_a_second_export_changes_nothing_and_another_book_has_the_same_identifiers(exported, filled, run, tmp_path):
    other = Path(shutil.copy(filled, tmp_path / "other name.xlsx"))
    again = Path(shutil.copy(exported, tmp_path / "season.ics"))
    fresh = tmp_path / "fresh.ics"
    before, book = exported.read_bytes(), other.read_bytes()
    assert "has all of this already" in run("calendar", other, "-o", again).output
    run("calendar", other, "-o", fresh)
    assert again.read_bytes() == fresh.read_bytes() == before
    assert other.read_bytes() == book
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "demo.xlsx",
        "fresh.ics",
        "other name.xlsx",
        "season.ics",
    ]


def test_what_changed_counts_one_change_more_and_what_is_gone_is_called_off(exported, filled, run, tmp_path):
    out = Path(shutil.copy(exported, tmp_path / "season.ics"))
    before = events(out)
    first = next(name for name in before if name.startswith("Visit 1:"))
    tags = [line.split(":")[0] for line in str(before[first]["DESCRIPTION"]).splitlines() if line[:2] in ("P-", "G-")]
    cut = TREES.letter("cut_on")
    type_in(filled, trees.NAME, {f"{cut}{row_of(filled, tag)}": datetime(2026, 6, 22) for tag in tags})
    output = run("calendar", filled, "-o", out).output  # not recalculated by hand: the command takes what is typed
    after = {str(event["UID"]): event for event in events(out).values()}
    assert {str(event["UID"]) for event in before.values()} <= set(after)
    off = [event for event in after.values() if event["STATUS"] == "CANCELLED"]
    numbers = {row["number"] for row in rows_of_recalculated(filled) if row["tag"] not in bare(filled)}
    gone = [name for name in before if name.startswith("Visit") and int(name[6 : name.index(":")]) not in numbers]
    assert sorted(str(event["SUMMARY"]).removeprefix("INVENTED: ") for event in off) == sorted(gone)
    assert gone
    assert f"{len(gone)} called off" in output
    unchanged = changed = 0
    for event in before.values():
        now = after[str(event["UID"])]
        same = all(
            now[name].to_ical() == event[name].to_ical() for name in ("SUMMARY", "DESCRIPTION", "DTSTART", "STATUS")
        )
        assert int(now["SEQUENCE"]) == int(event["SEQUENCE"]) + (not same)
        unchanged, changed = unchanged + same, changed + (not same)
    assert unchanged
    assert changed > len(tags)


def test_a_later_day_gives_later_stamps_even_without_the_earlier_file(exported, filled, run, tmp_path):
    from sheetfuncs.planner.sheets import place

    type_in(filled, place.NAME, {f"B{place.ROWS['Day_today']}": datetime(2026, 6, 24)})
    out = tmp_path / "fresh.ics"
    run("calendar", filled, "-o", out)
    before = {str(event["UID"]): event for event in events(exported).values()}
    for event in events(out).values():
        assert event.decoded("DTSTAMP") == datetime(2026, 6, 24, tzinfo=timezone.utc)
        if str(event["UID"]) in before:
            assert int(event["SEQUENCE"]) == int(before[str(event["UID"])]["SEQUENCE"]) + 2


# -- what is missing -------------------------------------------------------------------------------------------


def rows_of_recalculated(path: Path, table=ROUNDS) -> list[dict[str, object]]:
    from sheetfuncs.recalc import recalculate

    recalculate(path)
    return rows(path, table)


def test_without_the_list_of_rounds_there_are_no_visits_and_a_line(filled, run, tmp_path):
    # Headings of the user's own: the list is not known as one any more.
    book = openpyxl.load_workbook(filled)
    for cell in book[rounds.NAME][ROUNDS.heading_row]:
        if cell.value == "Visit":
            cell.value = "Besuch"
    book.save(filled)
    out = tmp_path / "season.ics"
    assert "demo.xlsx has no list on the sheet Rounds: no visits." in run("calendar", filled, "-o", out).output
    assert events(out)
    assert not any(name.startswith("Visit") for name in events(out))


def test_two_trees_of_one_tag_have_no_entry_and_a_line(filled, run, tmp_path):
    type_in(filled, trees.NAME, {f"{TREES.letter('tag')}{row_of(filled, 'P-02')}": "P-01"})
    out = tmp_path / "season.ics"
    assert "Say Check: on Trees, so no dates: 2 of 30 trees." in run("calendar", filled, "-o", out).output
    assert not [name for name in events(out) if name.endswith("First figs of P-01")]


def test_one_line_where_there_is_nothing_to_export(run, tmp_path):
    blank = build_template(tmp_path / "blank.xlsx", trees=5)
    with pytest.raises(InputError, match=r"^Check: blank\.xlsx has no dates to export yet"):
        run("calendar", blank, "-o", tmp_path / "season.ics")
    assert not (tmp_path / "season.ics").exists()


@pytest.mark.usefixtures("answers_as_they_are")
def test_other_files_are_refused_and_left_alone(filled, exported, run, tmp_path):
    foreign = tmp_path / "family.ics"
    theirs = exported.read_bytes().replace(b"PRODID:-//sheetfuncs//", b"PRODID:-//someone//")
    for content in (theirs, b"shopping list", b"", b"BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n"):
        foreign.write_bytes(content)
        with pytest.raises(InputError, match="is no calendar made here, wanted another name"):
            run("calendar", filled, "-o", foreign)
        assert foreign.read_bytes() == content
    with pytest.raises(InputError, match=r"the file name must end in \.ics"):
        run("calendar", filled, "-o", filled)
    other = tmp_path / "other.xlsx"
    openpyxl.Workbook().save(other)
    with pytest.raises(InputError, match="no sheet Trees, wanted a workbook made by: sheetfuncs new"):
        run("calendar", other, "-o", tmp_path / "season.ics")
    with pytest.raises(InputError, match="is not there"):
        run("calendar", tmp_path / "no.xlsx", "-o", tmp_path / "season.ics")


@pytest.mark.usefixtures("answers_as_they_are")
def test_the_book_stays_as_it_is(filled, run, tmp_path):
    before, facts = filled.read_bytes(), os.stat(filled)
    run("calendar", filled, "-o", tmp_path / "season.ics")
    assert filled.read_bytes() == before
    assert (os.stat(filled).st_mtime_ns, os.stat(filled).st_ino) == (facts.st_mtime_ns, facts.st_ino)

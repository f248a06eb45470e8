"""The archive: stations near a place, days fetched into a workbook, and a server that fails in every way."""

from __future__ import annotations

import csv
import gzip
import hashlib
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner

from sheetfuncs import InputError
from sheetfuncs.cli.archive import stations
from sheetfuncs.weather import WeatherFileError
from sheetfuncs.weather.archive import fetching, source
from sheetfuncs.weather.archive.addresses import of_archive, of_grid_point
from sheetfuncs.weather.archive.stations import Candidate, Station, best_near, distance, read_stations, read_years
from sheetfuncs.weather.model import Day
from sheetfuncs.xlsx import read_sheet

from . import archive_server as server
from .archive_server import NEAR, OTHER


@pytest.fixture
def archive(tmp_path, monkeypatch):
    """Return a running archive whose files go into a cache of the test's own."""
    monkeypatch.setenv("SHEETFUNCS_CACHE", str(tmp_path / "cache"))
    monkeypatch.setattr(fetching, "PAUSE", 0.01)
    with server.running(server.Archive()) as running:
        monkeypatch.setenv("SHEETFUNCS_GHCN", running.address)
        monkeypatch.setenv("SHEETFUNCS_GRID", f"{running.address}/point")
        yield running


def state_of(folder: Path) -> dict[str, str]:
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*")) if path.is_file()
    }  # fmt: skip


def days_of(identifier: str, last: str = "9999") -> set[str]:
    """Return the days of a station with both values, neither of them marked as doubtful."""
    seen: dict[str, set[str]] = {}
    for day, element, _, flags in server.station_rows(identifier):
        if day <= last and not flags.split(",")[1]:
            seen.setdefault(day, set()).add(element)
    return {day for day, elements in seen.items() if len(elements) == 2}


# -- the lists -------------------------------------------------------------------------------------------------


def test_the_lists_are_read_by_their_columns():
    found = list(read_stations(["no line", *server.STATION_LIST.splitlines()]))
    assert found[0] == Station(NEAR, 42.0036, -83.9444, 250.9, "TECUMSEH MI")
    assert found[3].height is None
    assert read_years(server.INVENTORY.splitlines()) == {
        NEAR: (1994, 2026), OTHER: (2002, 2022), "ZZC00000002": (1985, 2026),
    }  # fmt: skip


def test_distances():
    # A degree along the equator and along a meridian: 2πR/360 with R = 6,371.0088 km (IUGG mean radius).
    assert distance(0, 0, 0, 1) == pytest.approx(111.195, abs=0.001)
    assert distance(10, 20, 11, 20) == pytest.approx(111.195, abs=0.001)
    assert distance(0, 179.5, 0, -179.5) == pytest.approx(111.195, abs=0.001)


def test_the_best_station_still_reports_and_is_as_high_before_it_is_near():
    def station(name: str, north: float, height: float) -> Station:
        return Station(name, 42 + north, -83, height, name)

    all_stations = [
        station("near but ended", 0.01, 200), station("near but high", 0.1, 900),
        station("farther and as high", 0.2, 210), station("short", 0.02, 200), station("too far", 2, 200),
    ]  # fmt: skip
    years = dict.fromkeys([one.identifier for one in all_stations], (1980, 2026))
    years |= {"near but ended": (1940, 2001), "short": (2020, 2026)}
    found = best_near(all_stations, years, 42, -83, 200.0, date(2026, 6, 1))
    assert [one.station.name for one in found] == ["farther and as high", "near but high", "near but ended", "short"]
    assert [one.why() for one in found] == [
        "good: near, long, still reporting", "700 m higher", "ended 2001", "short record",
    ]  # fmt: skip


def test_years_of_a_candidate_count_both_ends():
    assert Candidate(Station(NEAR, 0, 0, None, ""), 1.0, None, 2001, 2001, True).years == 1


def test_the_command_lists_stations_and_says_what_is_next(archive):
    result = CliRunner().invoke(stations, ["42.0", "-83.9", "--height", "250"], catch_exceptions=False)
    assert [line.split()[0] for line in result.output.splitlines()[1:4:2]] == [NEAR, OTHER]
    assert f"sheetfuncs add-weather BOOK --station {NEAR}" in result.output
    assert max(map(len, result.output.splitlines())) <= 80
    by_name = CliRunner().invoke(stations, ["dundee"], catch_exceptions=False)
    # Dundee itself has ended, so the one that still reports comes before it.
    assert [line.split()[:2] for line in by_name.output.splitlines()[1:4:2]] == [[NEAR, "22"], [OTHER, "0"]]
    assert isinstance(CliRunner().invoke(stations, ["atlantis"]).exception, WeatherFileError)
    assert isinstance(CliRunner().invoke(stations, ["95", "10"]).exception, WeatherFileError)


# -- into a workbook -------------------------------------------------------------------------------------------


def test_a_book_is_filled_near_a_place_and_brings_what_is_new_the_next_time(archive, add, book):
    archive.files[f"/by_station/{NEAR}.csv.gz"] = server.by_station(NEAR, "20220110")
    printed = add("--near", "42.0,-83.9", "--height", "250")
    assert f"Station {NEAR} TECUMSEH MI" in printed
    values = read_sheet(book, "Weather")
    assert sum(1 for cell in values if cell.startswith("A") and int(cell[1:]) > 8) == len(days_of(NEAR, "20220110"))
    assert f"station {NEAR}" in values.values()
    assert "NOAA GHCN-Daily, public domain" in values.values()
    assert any("251 m high, 4 km away" in str(value) for value in values.values())

    archive.files[f"/by_station/{NEAR}.csv.gz"] = server.by_station(NEAR)
    new = len(days_of(NEAR)) - len(days_of(NEAR, "20220110"))
    assert 0 < new < 400
    assert f"{new} day" in add()
    assert sum(1 for cell in read_sheet(book, "Weather") if cell[0] == "A" and int(cell[1:]) > 8) == len(days_of(NEAR))
    before = book.read_bytes()
    add()
    assert archive.requests[-1][2] == 304
    assert book.read_bytes() == before


def test_a_book_without_a_station_says_what_is_wanted(archive, add):
    assert "wanted a FILE, --station ID or --near" in add()
    assert archive.requests == []


def test_an_older_station_comes_before_never_within(archive, add, book):
    printed = add("--station", OTHER, "--past", NEAR, "--adjust")
    assert "mean of the days that both have" in printed
    values = read_sheet(book, "Weather")
    stored = {values[cell].date(): (values[f"B{cell[1:]}"], values[f"C{cell[1:]}"]) for cell in values
              if cell[0] == "A" and int(cell[1:]) > 8}  # fmt: skip
    own = days_of(OTHER)
    first = min(own)
    assert {f"{day:%Y%m%d}" for day in stored} == own | {day for day in days_of(NEAR) if day < first}
    assert any("differences taken off" in str(value) for value in values.values())


def test_differences_by_month_are_taken_off_and_few_days_are_no_reason():
    near = tuple(Day(date(2020, 1, day), day + 2.0, day + 9.0) for day in range(1, 32))
    far = tuple(Day(date(year, 1, day), day + 0.5, day + 10.0) for year in (2019, 2020) for day in range(1, 32))
    (january,) = source.differences(near, far)
    assert (january.days, january.low, january.high) == (31, 1.5, -1.0)
    joined = source.with_past(near, far, [january])
    assert joined[:31] == tuple(Day(date(2019, 1, day), day + 2.0, day + 9.0) for day in range(1, 32))
    assert joined[31:] == near
    assert source.with_past(near, far, None)[0] == far[0]
    with pytest.raises(WeatherFileError, match="fewer than 28 days in month 1"):
        source.with_past(near[:20], far, source.differences(near[:20], far))


def test_the_grid_is_marked_as_such_and_fetched_only_for_what_may_be_new(archive, add, book):
    printed = add("--near", "42.0,-83.9", "--grid")
    assert "a garden's nights are often colder" in printed
    assert any("values of a grid" in str(value) for value in read_sheet(book, "Weather").values())
    add()
    starts = [path.partition("start=")[2][:8] for path, _, _ in archive.requests]
    assert starts == ["19810101", "20251101"]  # 60 days before the last one that was there


# -- a server that fails ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("fault", [server.cut, server.busy])
def test_a_broken_connection_is_taken_up_again(archive, fault):
    archive.faults = [fault, fault]
    fetched = source.fetch_source(source.Source(NEAR), None, date(2026, 6, 1))
    assert fetched.path.read_bytes() == archive.files[f"/by_station/{NEAR}.csv.gz"]
    assert fetched.why_old == ""
    if fault is server.cut:
        assert 206 in [status for _, _, status in archive.requests]  # not from the start again


@pytest.mark.parametrize("fault", [server.cut, server.busy])
def test_where_it_stays_broken_nothing_is_kept_or_the_last_whole_file_serves(archive, add, book, tmp_path, fault):
    before = book.read_bytes()
    archive.faults = [fault] * 9
    assert "try again later" in add("--station", NEAR)
    assert book.read_bytes() == before
    assert state_of(tmp_path / "cache") == {}
    archive.faults = []
    add("--station", NEAR)
    known, filled = state_of(tmp_path / "cache"), book.read_bytes()
    archive.files[f"/by_station/{NEAR}.csv.gz"] = server.by_station(NEAR, "20211231")
    archive.faults = [fault] * 99
    assert "these are its days as of" in add()
    assert (state_of(tmp_path / "cache"), book.read_bytes()) == (known, filled)


def test_what_has_no_end_is_refused(archive, add, book, tmp_path, monkeypatch):
    monkeypatch.setattr(source, "_LARGEST_RECORD", 2 * 1024**2)
    before = book.read_bytes()
    archive.faults = [server.endless]
    assert "sends more than 2 MB" in add("--station", NEAR)
    assert (book.read_bytes(), state_of(tmp_path / "cache")) == (before, {})


def test_what_drips_is_given_up(archive, add, book, monkeypatch):
    monkeypatch.setattr(fetching, "PATIENCE", 0.2)
    monkeypatch.setattr(fetching, "_CHUNK", 1)
    monkeypatch.setattr(fetching, "ATTEMPTS", 1)
    archive.faults = [server.dripping]
    assert "is too slow" in add("--station", NEAR)


@pytest.mark.parametrize(
    "content",
    [b"<!DOCTYPE html><html>Please sign in</html>", b"", b"\x1f\x8b broken", gzip.compress(b"0" * 40_000_000)],
    ids=["a page", "nothing", "a broken archive", "zeroes"],
)
def test_what_is_no_record_leaves_the_book_and_is_forgotten(archive, add, book, tmp_path, content):
    before = book.read_bytes()
    archive.files[f"/by_station/{NEAR}.csv.gz"] = content
    assert add("--station", NEAR).startswith("Check: ")
    assert book.read_bytes() == before
    archive.files[f"/by_station/{NEAR}.csv.gz"] = server.by_station(NEAR)
    assert "Written into" in add("--station", NEAR)


@pytest.mark.parametrize("address", ["http://example.com/x", "ftp://example.com/x", "file:///etc/passwd", "https:///x"])
def test_only_https_leaves_this_machine(archive, address):
    with pytest.raises(WeatherFileError, match="wanted one that starts with https"):
        fetching.fetch(address, 1000)
    archive.faults = [server.elsewhere(address)]
    with pytest.raises(WeatherFileError, match="wanted one that starts with https"):
        fetching.fetch(f"{archive.address}/ghcnd-stations.txt", 1000)


def test_from_one_address_to_the_next_without_end(archive):
    archive.faults = [server.elsewhere("/ghcnd-stations.txt")] * 20
    with pytest.raises(WeatherFileError, match="without end"):
        fetching.fetch(f"{archive.address}/ghcnd-stations.txt", 1000)


def test_what_comes_with_a_redirect_is_not_read(archive):
    archive.faults = [server.elsewhere_without_end]
    fetched = fetching.fetch(f"{archive.address}/ghcnd-stations.txt", 1_000_000)
    assert fetched.path.read_bytes() == archive.files["/ghcnd-stations.txt"]
    assert archive.sent < 1000  # of 4,000 blocks: what fits into the buffers between


def test_a_station_that_is_not_there_gets_one_line(archive, add):
    assert "has no USC00000000.csv.gz (status 404)" in add("--station", "USC00000000")
    assert "is no station" in add("--station", "../../etc/passwd")


def test_a_damaged_note_in_the_cache_is_no_harm(archive, tmp_path):
    first = source.fetch_source(source.Source(NEAR), None, date(2026, 6, 1))
    for note in ("{", '{"at": "yesterday", "size": 1}', "[]"):
        (first.path.parent / "about.json").write_text(note)
        again = source.fetch_source(source.Source(NEAR), None, date(2026, 6, 1))
        assert again.path.read_bytes() == archive.files[f"/by_station/{NEAR}.csv.gz"]
        assert archive.requests[-1][2] == 200


def test_where_nothing_is_to_be_kept_a_file_is_fetched_each_time(archive, monkeypatch, tmp_path):
    monkeypatch.setenv("SHEETFUNCS_CACHE", "off")
    monkeypatch.chdir(tmp_path)
    for _ in range(2):
        fetched = source.fetch_source(source.Source(NEAR), None, date(2026, 6, 1))
        assert fetched.path.read_bytes() == archive.files[f"/by_station/{NEAR}.csv.gz"]
    assert [status for _, _, status in archive.requests] == [200, 200]
    assert list(tmp_path.iterdir()) == []


def test_the_cache_has_a_bound(archive, monkeypatch):
    monkeypatch.setattr(fetching, "LARGEST_CACHE", 100_000)
    kept = [source.fetch_source(source.Source(one), None, date(2026, 6, 1)).path for one in (NEAR, OTHER)]
    assert [path.exists() for path in kept] == [False, True]


# -- small things ----------------------------------------------------------------------------------------------


def test_a_source_is_written_and_read_back():
    for one in (source.Source(NEAR), source.Source(point=(42.25, -83.5))):
        assert source.source_of(str(one)) == one
    with pytest.raises(InputError, match="wanted such as"):
        source.source_of("somewhere")


def test_the_public_addresses():
    assert of_archive("ghcnd-stations.txt") == "https://www.ncei.noaa.gov/pub/data/ghcn/daily/ghcnd-stations.txt"
    point = of_grid_point(42.3, -83.7, date(2026, 1, 1), date(2026, 6, 1))
    assert point.startswith("https://power.larc.nasa.gov/api/temporal/daily/point?parameters=T2M_MAX,T2M_MIN&")
    assert "start=20260101&end=20260601" in point


def test_the_station_files_are_as_the_archive_gave_them():
    with gzip.open(server.FOLDER / f"{NEAR}.csv.gz", "rt", encoding="utf-8") as file:
        first = next(csv.DictReader(file))
    assert (first["STATION"], first["TMAX"].strip()) == (NEAR, "")

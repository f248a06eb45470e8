"""What all tests share: how hard hypothesis tries, the processes they run in, the books and the offices made once."""

from __future__ import annotations

import gc
import os
import shutil
import sys
from functools import lru_cache
from pathlib import Path
from typing import Iterator

import pytest
from hypothesis import HealthCheck, settings

from sheetfuncs.hosts.calc.build import build_extension
from sheetfuncs.planner import build_demo, build_template
from sheetfuncs.recalc import recalculate
from sheetfuncs.recalc.apart import evaluator

from .calc.office import RunningOffice, what_is_missing
from .shared import few_rows_ready, shared_file, shared_folder, small_demo

# While tests are loaded, nothing is garbage.
gc.disable()
# No test finds what another one left, or leaves something with the user.
os.environ["SHEETFUNCS_CACHE"] = "off"
# What tests start runs from bytecode, as installed packages do.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
TESTS = Path(__file__).parent
MOST_PROCESSES = 8
#: The group of all tests that use an office.
OFFICE = "office"
#: What takes longest starts first, so that no process waits long for another one at the end.
LONGEST = (
    OFFICE,
    "test_carry.py",
    "test_threads_and_books.py",
    "test_faults.py",
    "test_carry_leftovers.py",
    "test_calendar.py",
    "test_answers.py",
    "test_hostile.py",
    "test_six_stations.py",
    "test_archive.py",
    "test_every_argument.py",
    "test_against_day_by_day.py",
    "test_files.py",
    "test_in_workbook.py",
    "test_answers_of_a_season.py",
)
#: Where workbooks are evaluated as users have it, in a process of its own, since that is the subject.
APART = {
    "test_apart.py",
    "test_hostile.py",
    "test_interruptions.py",
    "test_recalculate.py",
    "test_threads_and_books.py",
}

settings.register_profile(
    "sheetfuncs",
    max_examples=60,
    deadline=None,  # no test may hang on how fast the machine is
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("sheetfuncs")


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    """Run the whole suite in a process for each core, and a few named tests in this process."""
    is_whole = all((config.rootpath / name).resolve() in (TESTS, TESTS.parent) for name in config.args)
    cores = os.cpu_count() or 1
    return min(cores, MOST_PROCESSES) if is_whole and cores > 1 else 0


@lru_cache(maxsize=None)
def _group(path: Path) -> str:
    """Return what a test file's tests are run with: all that use an office in one process, those of a file in one."""
    return OFFICE if "pytest.mark.office" in path.read_text(encoding="utf-8") else path.name


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with what takes longest."""
    items.sort(key=lambda item: LONGEST.index(name) if (name := _group(item.path)) in LONGEST else len(LONGEST))


def pytest_xdist_make_scheduler(config: pytest.Config, log: object) -> object:
    """Give each group to one process. Groups by marks are not kept apart by every pytest, so these are by file."""
    from xdist.scheduler import LoadScopeScheduling

    class ByGroup(LoadScopeScheduling):
        def _split_scope(self, nodeid: str) -> str:
            path = config.rootpath / nodeid.partition("::")[0]
            return OFFICE if _group(path) == OFFICE else str(path)

    return ByGroup(config, log)


def pytest_collection_finish() -> None:
    """Search seldom for garbage: what is loaded by now is none, and a workbook is many small objects."""
    gc.freeze()
    gc.set_threshold(200_000, 10, 10)
    gc.enable()


@pytest.fixture(autouse=True)
def _evaluated_here(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Evaluate workbooks in this process: one of its own takes longer to start than most of them to evaluate."""
    if request.path.name not in APART:
        module = sys.modules[recalculate.__module__]
        monkeypatch.setattr(module, "evaluator", lambda name, functions, _is_apart: evaluator(name, functions, False))


# -- books -----------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def few_rows() -> Iterator[None]:
    """New workbooks with few rows ready, for the tests of a file."""
    with few_rows_ready():
        yield


@pytest.fixture(scope="session")
def blank_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The blank workbook, formulas only."""
    return shared_file(tmp_path_factory, "blank.xlsx", build_template)


@pytest.fixture(scope="session")
def demo_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo, formulas only: no answer can come from anywhere but the functions."""
    return shared_file(tmp_path_factory, "demo formulas.xlsx", build_demo)


@pytest.fixture(scope="session")
def demo_with_answers(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo as it is shipped."""
    return shared_file(tmp_path_factory, "demo.xlsx", lambda path: build_demo(path, recalculate=recalculate))


@pytest.fixture(scope="session")
def small_demo_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo with its last seasons only, with its answers."""
    return shared_file(tmp_path_factory, "small demo.xlsx", small_demo)


@pytest.fixture(scope="session")
def small_demo_formulas(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo with its last seasons only, formulas only."""
    return shared_file(tmp_path_factory, "small demo formulas.xlsx", lambda path: small_demo(path, answers=False))


# -- offices ---------------------------------------------------------------------------------------------------


def need_an_office() -> None:
    """Skip a test where no office can be started; in CI it fails."""
    missing = what_is_missing()
    if missing and os.environ.get("CI"):
        pytest.fail(f"CI must have LibreOffice: {missing}")
    if missing:
        pytest.skip(missing)


@pytest.fixture(scope="session")
def extension(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The built extension."""
    return shared_file(tmp_path_factory, "sheetfuncs.oxt", build_extension)


def _running(factory: pytest.TempPathFactory, *extensions: Path) -> Iterator[RunningOffice]:
    need_an_office()
    # Two processes that start offices at once disturb each other: the second one fails here.
    (shared_folder(factory) / f"office with {len(extensions)} extensions").mkdir()
    running = RunningOffice(factory.mktemp("office"), *extensions)
    yield running
    running.stop()


@pytest.fixture(scope="session")
def one_office(extension: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningOffice]:
    """The office with the functions that all tests share."""
    yield from _running(tmp_path_factory, extension)


@pytest.fixture(scope="session")
def one_plain_office(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningOffice]:
    """The office without the functions that all tests share."""
    yield from _running(tmp_path_factory)


@pytest.fixture
def office(one_office: RunningOffice) -> Iterator[RunningOffice]:
    """A running office with the functions; what a test leaves open is closed."""
    yield one_office
    one_office.close_all()


@pytest.fixture
def plain_office(one_plain_office: RunningOffice) -> Iterator[RunningOffice]:
    """A running office without the functions; what a test leaves open is closed."""
    yield one_plain_office
    one_plain_office.close_all()


@pytest.fixture
def filled(small_demo_path: Path, tmp_path: Path) -> Path:
    """A filled workbook that a test may change."""
    return Path(shutil.copyfile(small_demo_path, tmp_path / "demo.xlsx"))


@pytest.fixture(scope="session")
def valley():
    """Return the climate of the invented valley, °C."""
    from . import climates  # which reads the records that only some tests need

    return climates.valley()

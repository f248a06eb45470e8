"""How fast the functions are inside LibreOffice Calc: ``python -m tests.benchmarks calc``.

All in one office process: a call of LATEST_PRUNE_DATE, and of every other function on a known climate, against the
floor, a Python add-in function that returns a constant; 1,000 trees after one typed frost date changed; and the same
job with Calc's own formulas, one heat sum a tree and season by SUMPRODUCT over the record.
"""

from __future__ import annotations

import tempfile
import zipfile
from datetime import date
from pathlib import Path

from sheetfuncs.cells.dates import to_serial
from sheetfuncs.hosts.calc import declarations
from sheetfuncs.hosts.calc.build import build_extension
from sheetfuncs.planner.invented import invent_weather
from tests.calc.office import RunningOffice, what_is_missing

from .measure import Ratio

SEASONS, FIRST = 30, 1996
SEASON = FIRST + SEASONS
TREES = 1_000
CALLS = 1_000
#: Many short rounds, of which the best counts: a round that the machine disturbed says nothing.
ROUNDS = 250
#: For every function: fewer calls and rounds, as there are many functions.
EACH_CALLS, EACH_ROUNDS = 300, 60
#: The office's own formulas take so long that some trees stand for all.
SUMPRODUCT_TREES = 40

_FLOOR_COMPONENT = '''
import uno, unohelper
from com.sun.star.lang import XServiceInfo, XServiceName
from com.sun.star.sheet import XAddIn
try:
    XFunctions = uno.getClass("floor.XFunctions")
except Exception:
    url = __file__ if __file__.startswith("file:") else uno.systemPathToFileUrl(__file__)
    types = uno.getComponentContext().getValueByName("/singletons/com.sun.star.reflection.theTypeDescriptionManager")
    types.insert(url.rsplit("/", 1)[0] + "/functions.idl")
    XFunctions = uno.getClass("floor.XFunctions")
class Floor(unohelper.Base, XFunctions, XAddIn, XServiceName, XServiceInfo):
    def __init__(self, context, *arguments): self.locale = uno.createUnoStruct("com.sun.star.lang.Locale")
    def getServiceName(self): return "FLOOR"
    def setLocale(self, locale): self.locale = locale
    def getLocale(self): return self.locale
    def getImplementationName(self): return "floor.Floor"
    def supportsService(self, name): return name in self.getSupportedServiceNames()
    def getSupportedServiceNames(self): return ("FLOOR", "com.sun.star.sheet.AddIn")
    def getProgrammaticFuntionName(self, name): return name
    def getDisplayFunctionName(self, name): return name
    def getFunctionDescription(self, name): return ""
    def getDisplayArgumentName(self, name, index): return "argument"
    def getArgumentDescription(self, name, index): return ""
    def getProgrammaticCategoryName(self, name): return "Add-In"
    def getDisplayCategoryName(self, name): return "Add-In"
    def CONSTANT(self, a, b, c, d, e): return 46000.0
    def RANGE(self, a, b, c, d, e): return ((46000.0,),)
g_ImplementationHelper = unohelper.ImplementationHelper()
g_ImplementationHelper.addImplementation(Floor, "floor.Floor", ("FLOOR", "com.sun.star.sheet.AddIn"))
'''
_FLOOR_TYPES = """module floor { interface XFunctions {
  any CONSTANT([in] any a, [in] any b, [in] any c, [in] any d, [in] any e);
  sequence<sequence<any> > RANGE([in] any a, [in] any b, [in] any c, [in] any d, [in] any e);
}; };
"""

#: A call of each function on a known climate, in A1; B1 is the season. {new} is a number no call had before.
_EACH = {
    "HEAT_UNITS_BETWEEN": "$A$1;DATE($B$1;7;1);DATE($B$1;9;1)+{new}/10000",
    "HEAT_DATE": "$A$1;DATE($B$1;7;1);{new}",
    "FIRST_FROST": "$A$1;$B$1;{new}/10000",
    "LAST_FROST": "$A$1;$B$1;{new}/10000",
    "FROST_CHANCE": "$A$1;DATE($B$1;10;15)+{new}/10000",
    "SEASON_END": "$A$1;$B$1;{new}/10000",
    "LATEST_PRUNE_DATE": "$A$1;$B$1;{new};0.8;10",
    "RIPEN_CHANCE": "$A$1;DATE($B$1;6;1);{new}",
    "RIPEN_WINDOW": "$A$1;DATE($B$1;6;1);{new};250",
    "CROP_RIPE_SHARE": "$A$1;DATE($B$1;6;1);{new};250",
    "PRUNE_ADVICE": 'DATE($B$1;6;1);DATE($B$1;5;20);DATE($B$1;6;20);"yes";;$A$1;{new}',
    "LATER_FLUSH_WINDOW": "$A$1;DATE($B$1;4;1);{new};250",
    "SHELTER_BY": "$A$1;$B$1;-4;{new}/10000",
    "SAFE_OUTSIDE_FROM": "$A$1;$B$1;-1;{new}/10000",
    "ROOT_CUTTINGS_BY": "$A$1;$B$1;60;{new}/10000",
}


def _build_floor(path: Path) -> Path:
    """Make the extension with the functions that do nothing."""
    names = "".join(f'<node oor:name="{name}" oor:op="replace"/>' for name in "abcde")
    functions = "".join(
        f'<node oor:name="{name}" oor:op="replace"><node oor:name="Parameters">{names}</node></node>'
        for name in ("CONSTANT", "RANGE")
    )
    configuration = declarations.functions_text(()).replace("SHEETFUNCS", "FLOOR").replace(
        '<node oor:name="AddInFunctions">', f'<node oor:name="AddInFunctions">{functions}'
    )  # fmt: skip
    manifest = """<?xml version="1.0" encoding="UTF-8"?>
<manifest:manifest xmlns:manifest="http://openoffice.org/2001/manifest">
 <manifest:file-entry manifest:full-path="functions.idl"
  manifest:media-type="application/vnd.sun.star.uno-typelibrary;type=RDB"/>
 <manifest:file-entry manifest:full-path="component.py"
  manifest:media-type="application/vnd.sun.star.uno-component;type=Python"/>
 <manifest:file-entry manifest:full-path="functions.xcu"
  manifest:media-type="application/vnd.sun.star.configuration-data"/>
</manifest:manifest>"""
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("META-INF/manifest.xml", manifest)
        archive.writestr("component.py", _FLOOR_COMPONENT)
        archive.writestr("functions.idl", _FLOOR_TYPES)
        archive.writestr("functions.xcu", configuration)
        archive.writestr(
            "description.xml",
            '<description xmlns="http://openoffice.org/extensions/description/2006">'
            '<identifier value="floor"/><version value="1"/></description>',
        )
    return path


def _weather() -> list[list[float]]:
    return [[to_serial(day), low, high] for day, low, high in invent_weather(43, SEASONS, 43.0, FIRST)]


def _climate(office: RunningOffice, weather: list[list[float]]) -> str:
    """Return the text of a climate that the office holds."""
    book = office.open()
    office.put(document=book, sheet=0, address=f"A1:C{len(weather)}", rows=weather)
    office.put(document=book, sheet=0, address="E1", rows=[[f"=SHEETFUNCS.CLIMATE_OF(A1:C{len(weather)})"]])
    [[climate]] = office.get(document=book, sheet=0, address="E1")
    office.close(document=book)
    return climate


def _calls(office: RunningOffice, climate: str, call: str, number: int) -> str:
    """Return a document with so many calls in column D, no two alike; another value in B2 makes all of them new.

    Documents of their own: recalculating them makes no climate again.
    """
    document, watched = office.open(), f"D1:D{number}"
    office.put(document=document, sheet=0, address="A1:B1", rows=[[climate, SEASON]])
    office.put(document=document, sheet=0, address=f"C1:C{number}", rows=[[1100 + 0.4 * i] for i in range(number)])
    formulas = [["=" + call.format(new=f"(C{row}+$B$2)")] for row in range(1, number + 1)]
    office.put(document=document, sheet=0, address=watched, rows=formulas)
    for [answer] in office.get(document=document, sheet=0, address=watched):
        assert answer != "", call
        assert not str(answer).startswith(("Check:", "{")), (call, answer)
    return document


def _best_of_turns(
    office: RunningOffice, documents: list[str], number: int, rounds: int
) -> tuple[list[float], list[float]]:
    """Return the shortest time of a call in each document, made before and made for the first time [s]."""
    before, first = [], []
    for turn in range(1, rounds):
        before.append([office.timed_recalculation(document=document, times=1) for document in documents])
        new = {"address": "B2", "values": [turn / 1000], "watched": f"D1:D{number}"}
        first.append([office.timed_change(document=document, sheet=0, **new) for document in documents])
    return tuple([min(column) / number for column in zip(*times)] for times in (before, first))  # type: ignore[return-value]


def _calls_against_floor(office: RunningOffice, climate: str) -> list[Ratio]:
    """Time a call of LATEST_PRUNE_DATE and of the functions that return a constant, in turn."""
    arguments = _EACH["LATEST_PRUNE_DATE"]
    names = ("SHEETFUNCS.LATEST_PRUNE_DATE", "FLOOR.CONSTANT", "FLOOR.RANGE")
    documents = [_calls(office, climate, f"{name}({arguments})", CALLS) for name in names]
    both = _best_of_turns(office, documents, CALLS, ROUNDS)
    for document in documents:
        office.close(document=document)
    ratios = []
    for when, (ours, floor, in_a_range) in zip(("made before", "the first time"), both):
        ratios.append(Ratio(f"a call in Calc, {when}, against a Python function that returns a constant",
                            ours, floor, "<= 2"))  # fmt: skip
        ratios.append(Ratio("  against one that returns it as a range, as ours must", ours, in_a_range))
    return ratios


def _each_against_floor(office: RunningOffice, climate: str) -> list[Ratio]:
    """Time a call of every function on a known climate for the first time, against the floor in its own turn."""
    ratios = []
    for name, arguments in _EACH.items():
        calls = (f"SHEETFUNCS.{name}({arguments})", "FLOOR.CONSTANT($A$1;$B$1;{new};0.8;10)")
        documents = [_calls(office, climate, call, EACH_CALLS) for call in calls]
        ours, floor = _best_of_turns(office, documents, EACH_CALLS, EACH_ROUNDS)[1]
        for document in documents:
            office.close(document=document)
        ratios.append(Ratio(f"{name}, the first time", ours, floor))
    return sorted(ratios, key=lambda ratio: ratio.ratio)


def _frost_dates() -> list[float]:
    return [to_serial(date(SEASON, 10, day)) for day in (5, 9, 13, 17, 21)]


def _trees_after_a_frost_date(office: RunningOffice, weather: list[list[float]]) -> float:
    """Return the time until 1,000 trees have their new date after one typed frost date changed [s]."""
    book = office.open()
    office.put(document=book, sheet=0, address=f"A1:C{len(weather)}", rows=weather)
    office.put(document=book, sheet=0, address="E1", rows=[[f"=SHEETFUNCS.CLIMATE_OF(A1:C{len(weather)})"]])
    office.put(document=book, sheet=0, address="E2", rows=[[to_serial(date(SEASON, 10, 1))]])
    office.put(document=book, sheet=0, address="E3", rows=[["=SHEETFUNCS.CLIMATE_WITH_FROST(E1;E2)"]])
    formulas = [[f"=SHEETFUNCS.LATEST_PRUNE_DATE($E$3;{SEASON};{1100 + i % 400};0.8;10)"] for i in range(TREES)]
    office.put(document=book, sheet=0, address=f"G1:G{TREES}", rows=formulas)
    before = office.get(document=book, sheet=0, address=f"G1:G{TREES}")
    taken = office.timed_change(
        document=book, sheet=0, address="E2", values=_frost_dates(), watched=f"G1:G{TREES}"
    )
    after = office.get(document=book, sheet=0, address=f"G1:G{TREES}")
    assert all(old[0] < new[0] for old, new in zip(before, after)), "a tree did not move"
    office.close(document=book)
    return taken


def _sumproduct_after_a_frost_date(office: RunningOffice, weather: list[list[float]]) -> float:
    """Return the time of the same job by the office's own formulas, for all the trees [s].

    One heat sum a tree and season, from the cut and 10 days to the frost date, over a column of ready daily heat;
    what a user would still have to do, to find the last date by trying, is not in it.
    """
    book = office.open()
    size = len(weather)
    office.put(document=book, sheet=0, address=f"A1:C{size}", rows=weather)
    heat = [[f"=MAX(0;(MIN(36;C{row})+MAX(8;B{row}))/2-8)"] for row in range(1, size + 1)]
    office.put(document=book, sheet=0, address=f"D1:D{size}", rows=heat)
    office.put(document=book, sheet=0, address="E2", rows=[[to_serial(date(SEASON, 10, 1))]])
    years = [FIRST + number for number in range(SEASONS)]
    sums = [
        [
            f"=SUMPRODUCT(($A$1:$A${size}>=DATE({year};6;{1 + tree % 28})+10)*"
            f"($A$1:$A${size}<DATE({year};MONTH($E$2);DAY($E$2)))*$D$1:$D${size})"
            for year in years
        ]
        for tree in range(SUMPRODUCT_TREES)
    ]
    # 30 columns from G on
    watched = f"G1:AJ{SUMPRODUCT_TREES}"
    office.put(document=book, sheet=0, address=watched, rows=sums)
    office.get(document=book, sheet=0, address=watched)
    taken = office.timed_change(document=book, sheet=0, address="E2", values=_frost_dates()[:2], watched=watched)
    office.close(document=book)
    return taken * TREES / SUMPRODUCT_TREES


def run() -> list[Ratio]:
    """Measure in one office process."""
    if what_is_missing():
        raise SystemExit(what_is_missing())
    weather = _weather()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        office = RunningOffice(
            folder, build_extension(folder / "sheetfuncs.oxt"), _build_floor(folder / "floor.oxt")
        )
        try:
            climate = _climate(office, weather)
            calls = _calls_against_floor(office, climate)
            each = _each_against_floor(office, climate)
            trees = _trees_after_a_frost_date(office, weather)
            own = _sumproduct_after_a_frost_date(office, weather)
        finally:
            office.stop()
    return [
        *calls,
        *each,
        Ratio(f"{TREES:,} trees after one frost date, against Calc's SUMPRODUCT", trees, own),
    ]

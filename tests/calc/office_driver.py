"""Drives one headless LibreOffice with a profile of its own; runs on a Python that has ``uno``.

One request a line on the standard input, ``{"do": name, …}``, one answer a line on the standard output.
"""

from __future__ import annotations

import contextlib
import json
import os
import subprocess
import sys
import threading
import time
import traceback

import uno
from com.sun.star.beans import PropertyValue

FILTERS = {
    ".xlsx": ("Calc MS Excel 2007 XML", ""),
    ".ods": ("calc8", ""),
    ".pdf": ("calc_pdf_Export", ""),
    # Comma, double quote, UTF-8, contents as shown, every sheet to a file of its own.
    ".csv": ("Text - txt - csv (StarCalc)", "44,34,76,1,,0,false,true,false,false,false,-1"),
}


def _properties(**values):
    return tuple(PropertyValue(name, 0, value, 0) for name, value in values.items())


class Driver:
    def __init__(self, soffice, settings):
        self.documents = {}
        self.opened = 0
        pipe = f"sheetfuncs{os.getpid()}"
        self.process = subprocess.Popen(
            [soffice, "--headless", "--norestore", "--nologo", f"--accept=pipe,name={pipe};urp;", *settings],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, stdin=subprocess.DEVNULL, start_new_session=True,
        )  # fmt: skip
        local = uno.getComponentContext()
        resolver = local.ServiceManager.createInstanceWithContext("com.sun.star.bridge.UnoUrlResolver", local)
        last = time.monotonic() + 120
        while True:
            try:
                address = f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext"
                self.context = resolver.resolve(address)
                break
            except Exception:
                if time.monotonic() > last or self.process.poll() is not None:
                    raise
                time.sleep(0.1)
        self.desktop = self._service("com.sun.star.frame.Desktop")

    def _service(self, name):
        return self.context.ServiceManager.createInstanceWithContext(name, self.context)

    def _cells(self, document, sheet, address):
        sheets = self.documents[document].Sheets
        found = sheets.getByIndex(sheet) if isinstance(sheet, int) else sheets.getByName(sheet)
        return found.getCellRangeByName(address)

    # -- documents

    def open(self, path=None, hidden=True, null_date=None, macros=False):
        url = uno.systemPathToFileUrl(path) if path else "private:factory/scalc"
        for wait in (0, 1, 3):  # an office that is still closing a book may turn down the next one
            time.sleep(wait)
            # 0: no macro runs, 4: all do.
            how = _properties(Hidden=hidden, MacroExecutionMode=4 if macros else 0)
            document = self.desktop.loadComponentFromURL(url, "_blank", 0, how)
            if document is not None:
                break
        else:
            raise OSError(f"the office did not open {path}, beside it: {os.listdir(os.path.dirname(path))}")
        if null_date:
            day = uno.createUnoStruct("com.sun.star.util.Date")
            day.Year, day.Month, day.Day = null_date
            document.NullDate = day
        self.opened += 1
        name = f"document {self.opened}"
        self.documents[name] = document
        return name

    def save(self, document, path):
        name, options = FILTERS[os.path.splitext(path)[1]]
        to = uno.systemPathToFileUrl(path)
        self.documents[document].storeToURL(to, _properties(FilterName=name, FilterOptions=options))

    def close(self, document):
        closed = self.documents.pop(document)
        url = closed.URL
        closed.close(True)
        if url:  # a book that stays locked is not closed
            folder, name = os.path.split(uno.fileUrlToSystemPath(url))
            lock = os.path.join(folder, f".~lock.{name}#")
            if os.path.exists(lock):
                with open(lock, encoding="utf-8") as held:
                    raise OSError(f"{name} is closed and locked by {held.read()}")

    def close_all(self):
        for document in list(self.documents):
            self.close(document)

    def modified(self, document):
        return self.documents[document].isModified()

    def undo_steps(self, document):
        return list(self.documents[document].getUndoManager().getAllUndoActionTitles())

    def add_sheet(self, document, name):
        sheets = self.documents[document].Sheets
        sheets.insertNewByName(name, sheets.Count)

    def sheets(self, document):
        return list(self.documents[document].Sheets.ElementNames)

    def is_protected(self, document, sheet):
        return self.documents[document].Sheets.getByName(sheet).isProtected()

    def used(self, document, sheet):
        sheets = self.documents[document].Sheets
        found = sheets.getByIndex(sheet) if isinstance(sheet, int) else sheets.getByName(sheet)
        cursor = found.createCursor()
        cursor.gotoEndOfUsedArea(False)
        end = cursor.RangeAddress
        return [end.EndColumn, end.EndRow]

    # -- cells

    def put(self, document, sheet, address, rows):
        """Put values; a text that starts with = is a formula, the rest is plain."""
        cells = self._cells(document, sheet, address)
        plain = all(not (isinstance(value, str) and value.startswith("=")) for row in rows for value in row)
        if plain:
            cells.setDataArray(tuple(tuple("" if value is None else value for value in row) for row in rows))
        else:
            cells.setFormulaArray(tuple(tuple("" if v is None else str(v) for v in row) for row in rows))

    def put_array(self, document, sheet, address, formula):
        self._cells(document, sheet, address).setArrayFormula(formula)

    def get(self, document, sheet, address):
        """Return of each cell its value: a number, a text, None, or {"error": number, "shown": text}."""
        cells = self._cells(document, sheet, address)
        answer = []
        for row, values in enumerate(cells.getDataArray()):
            line = []
            for column, value in enumerate(values):
                if value is None:
                    cell = cells.getCellByPosition(column, row)
                    value = {"error": cell.getError(), "shown": cell.getString()}
                line.append(value)
            answer.append(line)
        return answer

    def formulas(self, document, sheet, address):
        return [list(row) for row in self._cells(document, sheet, address).getFormulaArray()]

    def shown(self, document, sheet, address):
        cells = self._cells(document, sheet, address)
        rows, columns = cells.Rows.Count, cells.Columns.Count
        return [[cells.getCellByPosition(c, r).getString() for c in range(columns)] for r in range(rows)]

    def name(self, document, name, content):
        corner = uno.createUnoStruct("com.sun.star.table.CellAddress")
        self.documents[document].NamedRanges.addNewByName(name, content, corner, 0)

    def unprotect(self, document, sheet):
        self.documents[document].Sheets.getByName(sheet).unprotect("")

    def delete_rows(self, document, sheet, first, last):
        rows = self.documents[document].Sheets.getByName(sheet).Rows
        rows.removeByIndex(first - 1, last - first + 1)

    def move_column(self, document, sheet, column, before):
        """Cut a column out and put it in before another one, as a user does by dragging."""
        found = self.documents[document].Sheets.getByName(sheet)
        to, start = (found.Columns.getByName(one).RangeAddress.StartColumn for one in (before, column))
        found.Columns.insertByIndex(to, 1)
        start += start >= to
        source = found.Columns.getByIndex(start).RangeAddress
        found.moveRange(found.getCellByPosition(to, 0).CellAddress, source)
        found.Columns.removeByIndex(start, 1)

    def recalculate(self, document, hard=False):
        if hard:
            self.documents[document].calculateAll()
        else:
            self.documents[document].calculate()

    def dispatch(self, document, command, **arguments):
        """Do what a user does with the keyboard or a menu."""
        helper = self._service("com.sun.star.frame.DispatchHelper")
        frame = self.documents[document].CurrentController.Frame
        helper.executeDispatch(frame, command, "", 0, _properties(**arguments))

    def type(self, document, address, text):
        self.dispatch(document, ".uno:GoToCell", ToPoint=address)
        self.dispatch(document, ".uno:EnterString", StringName=text)

    def paste(self, document, address, rows):
        """Put formulas by copying them from a sheet where they stand at the same address."""
        self.add_sheet(document, "Clipping")
        self.put(document, "Clipping", address, rows)
        self.dispatch(document, ".uno:GoToCell", ToPoint=f"$Clipping.{address}")
        self.dispatch(document, ".uno:Copy")
        self.dispatch(document, ".uno:GoToCell", ToPoint=f"$Sheet1.{address.split(':')[0]}")
        self.dispatch(document, ".uno:Paste")
        self.documents[document].Sheets.removeByName("Clipping")

    # -- the office

    def functions(self):
        """Return what Calc's own list knows of the functions."""
        descriptions = self._service("com.sun.star.sheet.FunctionDescriptions")
        found = {}
        for number in range(descriptions.getCount()):
            about = {part.Name: part.Value for part in descriptions.getByIndex(number)}
            found[about["Name"]] = {
                "help": about["Description"],
                "category": about["Category"],
                "arguments": [[one.Name, one.Description, one.IsOptional] for one in about["Arguments"] or ()],
            }
        return found

    def timed_recalculation(self, document, times=5):
        """Return the shortest time of several hard recalculations [s]."""
        shortest = None
        for _ in range(times):
            start = time.perf_counter()
            self.documents[document].calculateAll()
            taken = time.perf_counter() - start
            shortest = taken if shortest is None else min(shortest, taken)
        return shortest

    def timed_change(self, document, sheet, address, values, watched):
        """Put one value after another; return the shortest time until the watched cell is calculated again [s]."""
        shortest = None
        cell = self._cells(document, sheet, address)
        last = self._cells(document, sheet, watched)
        for value in values:
            start = time.perf_counter()
            cell.setValue(value)
            last.getDataArray()
            taken = time.perf_counter() - start
            shortest = taken if shortest is None else min(shortest, taken)
        return shortest

    def edit(self, document, sheet, address, values):
        """Put one value after another, each time until the whole book is calculated again."""
        for value in values:
            self._cells(document, sheet, address).setValue(value)
            self.documents[document].calculate()

    def kill_while_recalculating(self, document):
        """Start a hard recalculation and kill the office in the middle of it."""

        def recalculate():
            with contextlib.suppress(Exception):  # the bridge is gone, as it should be
                self.documents[document].calculateAll()

        thread = threading.Thread(target=recalculate, daemon=True)
        thread.start()
        time.sleep(0.05)
        running = thread.is_alive()
        os.killpg(self.process.pid, 9)
        self.process.wait()
        self.documents.clear()
        return running

    def end(self):
        self.close_all()
        with contextlib.suppress(Exception):  # it may end before it answers
            self.desktop.terminate()
        try:
            self.process.wait(60)
        except subprocess.TimeoutExpired:
            os.killpg(self.process.pid, 9)


def main():
    answers = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)  # nothing else may write among the answers
    driver = Driver(sys.argv[1], sys.argv[2:])
    print(json.dumps({"answer": "ready"}), file=answers, flush=True)
    for line in sys.stdin:
        request = json.loads(line)
        try:
            answer = {"answer": getattr(driver, request.pop("do"))(**request)}
        except Exception:
            answer = {"fault": traceback.format_exc()}
        print(json.dumps(answer), file=answers, flush=True)
    if driver.process.poll() is None:
        driver.end()


if __name__ == "__main__":
    main()

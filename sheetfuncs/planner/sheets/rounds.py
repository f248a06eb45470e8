"""The sheet *Rounds*: who is cut on which visit; a list to print and tick off."""

from __future__ import annotations

from openpyxl.worksheet.worksheet import Worksheet

from . import look
from .contents import Contents
from .layout import Answers, Page, Paper, Setting, Settings, Table, answer, words, working
from .rules import default, number_between, whole_between
from .writing import if_known

NAME = "Rounds"
VISITS_READY = 40

#: A round within a week: a day, or the line that says what is wrong with the weekdays.
_ANY_WEEK = 'PRUNE_ROUNDS(DATE(2026,7,1),DATE(2026,7,7),"","",0,{typed})'
TIME = Settings(5, "Time", (
    Setting("Minutes_a_tree", "Minutes to cut a tree", '""',
            "Needed with minutes a day; a tree's own stand on Trees. Cleaning the tools between trees counts.",
            number_between(0.1, 1440, "minutes such as 20")),
    Setting("Minutes_a_day", "Minutes you have on one day", '""',
            "Blank: no limit. With one, a tree for which no day is found says by how much the nearest is too short.",
            number_between(0.1, 1440, "minutes such as 240")),
    Setting("Days_in_hand", "Days in hand", default("prune_rounds", "days_in_hand"),
            "For rain: visits lie so many days before the last dates, where that costs no tree its day (judgement).",
            whole_between(0, 30, "whole days such as 2")),
    Setting("Work_days", "Days on which you work", '""', "Weekdays such as Sat Sun, or Mon-Fri. Blank: any day.",
            formula=f'IF({{typed}}="",{{default}},IF(ISNUMBER({_ANY_WEEK}),{{typed}},{_ANY_WEEK}))'),
), typed="D", used="E", note="F", note_end="P", letters_a_line=130)  # fmt: skip
COUNTS_ROW = TIME.row + len(TIME.lines) + 3
HEADING_ROW = COUNTS_ROW + 5
_LINE = "ROW()-ROW(Round_heading)"


def _of_tree(name: str, text: bool = False) -> str:
    as_text = '&""' if text else ""
    return f'IF({{line}}="","",INDEX({name},{{line}}){as_text})'


def lookups(rows: int) -> Table:
    """Return what is looked up for the list, out of sight: one answer for all trees is worked out once."""
    return Table(
        sheet=NAME, heading_row=HEADING_ROW, rows=rows, first_column=18, names={"Round_days": "planned"},
        columns=(
            working("line", "Line on Trees",
                f'IF({_LINE}>COUNT(Tree_visit_keys),"",MATCH(SMALL(Tree_visit_keys,{_LINE}),Tree_visit_keys,0))'),
            working("ready", "From", _of_tree("Tree_round_from"), look.DATE_SHORT),
            working("planned", "Day of each line on Trees",
                f'IF(COUNTIF({TIME.cells},"Check:*")>0,"",PRUNE_ROUNDS(Tree_round_from,Tree_round_by,Tree_minutes,'
                "Minutes_a_day,Days_in_hand,Work_days))",
                look.DATE_SHORT, array=True),
        ),
    )  # fmt: skip


def table(rows: int) -> Table:
    """Return the list: one row a tree still to be cut, in the order of the visits, then those that are done."""
    short = look.DATE_SHORT
    is_cut = "ISNUMBER(INDEX(Tree_cut_dates,{line}))"
    return Table(
        sheet=NAME, heading_row=HEADING_ROW, rows=rows, beside=lookups(rows), heading_name="Round_heading",
        columns=(
            answer("number", "Visit", 6, look.WHOLE,
                f'IF({{line}}="","",IF({is_cut},"done",MATCH({{day}},Visit_days,0)))'),
            answer("day", "On", 9, short,
                f'IF({{line}}="","",IF({is_cut},INDEX(Tree_cut_dates,{{line}}),INDEX(Tree_visits,{{line}})))'),
            words("tag", "Tag", 10, _of_tree("Tree_tags", text=True)),
            words("kind", "Variety", 15, _of_tree("Tree_kinds", text=True)),
            words("position", "Position", 17, _of_tree("Tree_positions", text=True)),
            answer("shoots", "Shoots", 8, look.PLAIN, _of_tree("Tree_shoots", text=True)),
            words("what", "What", 27,
                f'IF({{line}}="","",IF({is_cut},"was cut",IF(INDEX(Tree_buds,{{line}})="yes","cut",'
                '"look for fig buds; then cut")))'),
            answer("node", "Above node", 9, look.WHOLE, _of_tree("Tree_nodes")),
            answer("latest", "Last cut date", 9, short, _of_tree("Tree_last_dates")),
            answer("done", "Done", 7, look.PLAIN, f'IF({{line}}="","",IF({is_cut},"✓","☐"))'),
        ),
    )  # fmt: skip


def visits(rows: int) -> Table:
    """Return the visits beside the list: one row a day."""
    short = look.DATE_SHORT
    days, ready = table(rows).cells("day", sheet=False), lookups(rows).cells("ready", sheet=False)
    before = "IF(ISNUMBER({above_day}),{above_day},0)"
    minutes = "SUMIF(Tree_visits,{day},Tree_minutes)"
    return Table(
        sheet=NAME, heading_row=HEADING_ROW, rows=min(rows, VISITS_READY), first_column=12,
        names={"Visit_days": "day"},
        columns=(
            answer("number", "Visit", 8, look.WHOLE, f'IF({{day}}="","",{_LINE})'),
            answer("day", "On", 9, short,
                f'IF({{above_day}}="","",IF(COUNTIF(Tree_visits,">"&{before})=0,"",'
                f'SMALL(Tree_visits,COUNTIF(Tree_visits,"<="&{before})+1)))'),
            answer("earliest", "or any day from", 9, short,
                f'IF({{day}}="","",INDEX({ready},MATCH({{day}},{days},0)+{{trees}}-1))'),
            answer("trees", "Trees", 7, look.WHOLE, 'IF({day}="","",COUNTIF(Tree_visits,{day}))'),
            answer("minutes", "Minutes", 9, look.WHOLE, f'IF({{day}}="","",IF({minutes}=0,"",{minutes}))'),
        ),
    )  # fmt: skip


_COUNTS = (
    ("Trees in the rounds", if_known("COUNT(Tree_visits)"), look.WHOLE, "not cut yet, and not late"),
    ("Visits", if_known("COUNT(Visit_days)"), look.WHOLE,
     "each is held as late as its trees allow, so that buds have time"),
    ("Trees no day has room for", if_known('COUNTIF(Tree_visits,"Check:*")'), look.WHOLE,
     "Round on, on Trees, says by how many minutes"),
)  # fmt: skip


def page(rows: int) -> Page:
    """Return the sheet for so many trees."""
    trees, days = table(rows), visits(rows)

    def more(sheet: Worksheet, contents: Contents) -> None:
        look.mark(sheet, f"E{COUNTS_ROW + 2}", f"$E${COUNTS_ROW + 2}>0", "late")
        first = trees.first_row
        begins = f'AND($A{first}<>"",$A{first}<>$A{first - 1})'
        look.mark(sheet, trees.cells("number", "done", sheet=False), begins, "part")

    return Page(
        name=NAME,
        title="Rounds",
        purpose="The fewest visits that reach each tree between ready and last date. To tick a tree off, type the day "
        "under Cut on, on Trees: it leaves the visits. Shoots longer than the node are cut above it, of shorter ones "
        "the tip alone.",
        step="Print who is cut on which visit, and tick off; the day typed under Cut on, on Trees, ticks it off here.",
        last_column=days.letter("minutes"),
        paper=Paper(min(trees.last_row, HEADING_ROW + 45), HEADING_ROW),
        settings=(TIME,),
        tables=(trees, days, lookups(rows)),
        widths={"K": 3, "Q": 3},
        freeze=f"A{trees.first_row}",
        sections={COUNTS_ROW - 1: "Rounds to come"},
        answers=(Answers(COUNTS_ROW, _COUNTS, "E"),),
        more=more,
    )

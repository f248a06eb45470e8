"""The sheet *Kinds*: how much heat each kind of fig needs, how long buds take to show, how long it picks."""

from __future__ import annotations

from openpyxl import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from . import look, positions
from .contents import Contents
from .layout import Column, Role, Table, listed_in, number_between, one_of, whole_between
from .writing import define, merged, write_table

NAME = "Kinds"

_BASIS = (
    "Judgement, scaled from a late kind that took 80–89 days at 24.7 °C, about 1,420 °C·day above 8 °C (Yahata & "
    "Nogata 2000, J. Japan. Soc. Hort. Sci. 69(2)). Lag and spread: judgement, no trial was found."
)

#: Heat needs from the visible fig to the first ripe one, base 8 °C, single sine [°C·day]: judgement, see _BASIS.
#: Grams a fig: the middle of the 30 to 65 g of several reports.
STANDING = (
    {"name": "early", "need": 1150, "lag": 10, "spread": 250, "grams": 45, "source": _BASIS},
    {"name": "middle", "need": 1300, "lag": 10, "spread": 250, "grams": 45, "source": "As above."},
    {"name": "late", "need": 1450, "lag": 10, "spread": 250, "grams": 45, "source": "As above."},
)
ROWS = 15

_NEED = number_between(1, 20000, "heat units above 0, such as 1300")
_SPREAD = number_between(0, 20000, "heat units from 0 up, such as 250")
_LAG = whole_between(0, 400, "whole days from 0 to 400")
_GRAMS = number_between(1, 1000, "grams such as 45")
#: "position": what the log teaches of the kind at a tree's own position, elsewhere what it teaches of the kind.
USE = one_of("table", "own", "log", "position")
PAIR_ROWS = 18
PAIR_HEADING_NAME = "Pair_heading"

#: The table's need in the place's unit; a kind that is not in the table starts from the user's own need.
_TABLE_NEED = 'IF({need}<>"",{need}*IF(Unit="F",1.8,1),IF({own_need}<>"",{own_need},1300*IF(Unit="F",1.8,1)))'
_DATES = "Log_climates,Log_cut_dates,Log_seen_dates,Log_ripe_dates"
_LEARNED = f"LEARNED_HEAT_NEED({_DATES},{{prior}},{{lag_in_use}},Log_kinds,{{name}},Log_positions,{{learn_at}})"


def _learned(number: int) -> str:
    """Return the formula of one part of what the log teaches, blank where the log has no line of the kind."""
    return f'IF(N({{lines}})=0,"",INDEX({_LEARNED},1,{number}))'


def _if_name(formula: str) -> str:
    return f'IF({{name}}="","",{formula})'


def at_position(kind: str, position: str, otherwise: str) -> str:
    """Return the formula of a need in use: what the log teaches of the kind at a position, where that is chosen."""
    found = f'MATCH({kind}&" at "&{position},Pair_keys,0)'
    return f"IF(Pairs_in_use=0,{otherwise},IF(ISNUMBER({found}),INDEX(Pair_needs,{found}),{otherwise}))"


TABLE = Table(
    sheet=NAME,
    heading_row=6,
    rows=ROWS,
    columns=(
        Column("name", "Kind", 16, Role.ENTRY, look.TEXT),
        Column("own_need", "Heat need, your own", 15, Role.ENTRY, "#,##0", rule=_NEED, align="center"),
        Column("own_lag", "Days from cut to visible figs, your own", 13, Role.ENTRY, rule=_LAG, align="center"),
        Column("own_spread", "Heat from first to last fig, your own", 12, Role.ENTRY, "#,##0", rule=_SPREAD,
               align="center"),
        Column("own_grams", "Grams a fig, your own", 10, Role.ENTRY, rule=_GRAMS, align="center"),
        Column("use", "Use the need of", 9, Role.ENTRY, look.TEXT, rule=USE),
        Column("learn_at", "Learn only from trees at", 14, Role.ENTRY, look.TEXT,
               rule=listed_in(positions.TABLE.cells("name"), "a position from the sheet Positions")),
        Column("need_in_use", "Heat need in use", 9, Role.ANSWER, "#,##0", align="center", formula=_if_name(
            'IF(OR({use_in_use}="log",{use_in_use}="position"),IF(ISNUMBER({learned}),{learned},'
            '"Check: no line of the log teaches this kind yet, choose table or own"),'
            'IF({use_in_use}="own",IF({own_need}<>"",{own_need},"Check: your own heat need is blank"),'
            'IF({need}<>"",{need}*IF(Unit="F",1.8,1),"Check: heat need is blank, wanted heat units such as 1300")))')),
        Column("use_in_use", "which is", 8, Role.ANSWER, align="center", formula=_if_name(
            'IF({use}<>"",{use},IF({own_need}<>"","own","table"))')),
        Column("learned", "Heat need the log teaches", 10, Role.ANSWER, "#,##0", align="center", shrink=True,
               formula=_learned(1)),
        Column("learned_from", "from so many trees", 9, Role.ANSWER, look.WHOLE, align="center", formula=_learned(2)),
        Column("miss", "Typical miss [days]", 9, Role.ANSWER, look.TENTHS, align="center", formula=_learned(3)),
        Column("lag_in_use", "Days to visible figs in use", 10, Role.ANSWER, align="center", formula=_if_name(
            'IF({own_lag}<>"",{own_lag},IF({lag}<>"",{lag},10))')),
        Column("spread_in_use", "Heat first to last in use", 10, Role.ANSWER, "#,##0", align="center",
               formula=_if_name('IF({own_spread}<>"",{own_spread},IF({spread}<>"",{spread},250)*IF(Unit="F",1.8,1))')),
        Column("grams_in_use", "Grams a fig in use", 9, Role.ANSWER, align="center", formula=_if_name(
            'IF({own_grams}<>"",{own_grams},IF({grams}<>"",{grams},45))')),
        Column("latest", "Last cut date in the open", 11, Role.ANSWER, look.DATE_SHORT, align="center", formula=(
            'IF(OR({name}="",Climate_in_use=""),"",'
            "LATEST_PRUNE_DATE(Climate_in_use,Season_year,{need_in_use},Chance_wanted,{lag_in_use}))")),
        Column("said", "Lines of the log that do not count", 40, Role.ANSWER, shrink=True, formula=(
            # A blank answer of a function is asked for again by programs that do not know the function.
            f'IF(N({{lines}})=0,"",IF({_learned(4)}="","all count",{_learned(4)}))')),
        Column("need", "Heat need, table [°C·day]", 10, Role.TEXT, "#,##0", align="center"),
        Column("lag", "Days, table", 8, Role.TEXT, align="center"),
        Column("spread", "First to last, table [°C·day]", 11, Role.TEXT, "#,##0", align="center"),
        Column("grams", "Grams a fig, table", 9, Role.TEXT, align="center"),
        Column("source", "Where the table's figures come from", 62, Role.TEXT, wrap=True),
        Column("prior", "Table's or own need", 10, Role.WORKING, "#,##0", align="center",
               formula=_if_name(_TABLE_NEED)),
        Column("lines", "Lines of the log", 8, Role.WORKING, align="center", formula=_if_name(
            'IF({learn_at}="",COUNTIFS(Log_kinds,{name},Log_ripe_dates,">0"),'
            'COUNTIFS(Log_kinds,{name},Log_positions,{learn_at},Log_ripe_dates,">0"))')),
        Column("need_shown", "Heat need on Season", 9, Role.WORKING, "#,##0", align="center", formula=_if_name(
            at_position("{name}", "Season_position", "{need_in_use}"))),
    ),
)  # fmt: skip


def _if_pair(formula: str) -> str:
    return f'IF({{line}}="","",{formula})'


def _learned_there(number: int) -> str:
    """Return the formula of one part of what the log teaches of a kind at a position."""
    prior, lag = (f"INDEX({name},{{kind_line}})" for name in ("Kind_priors", "Kind_lags"))
    learned = f"LEARNED_HEAT_NEED({_DATES},{prior},{lag},Log_kinds,{{kind}},Log_positions,{{position}})"
    return _if_pair(f'IF({{kind_line}}=0,"",INDEX({learned},1,{number}))')


#: Each column is as wide as the one above it.
PAIRS = Table(
    sheet=NAME,
    heading_row=TABLE.last_row + 5,
    rows=PAIR_ROWS,
    columns=(
        Column("kind", "Kind", 16, Role.ANSWER, shrink=True, formula=_if_pair('INDEX(Log_kinds,{line})&""')),
        Column("position", "at position", 15, Role.ANSWER, shrink=True, formula=_if_pair(
            'INDEX(Log_positions,{line})&""')),
        Column("learned", "Heat need the log teaches there", 13, Role.ANSWER, "#,##0", align="center", shrink=True,
               formula=_learned_there(1)),
        Column("learned_from", "from so many trees", 12, Role.ANSWER, look.WHOLE, align="center",
               formula=_learned_there(2)),
        Column("miss", "Typical miss [days]", 10, Role.ANSWER, look.TENTHS, align="center", formula=_learned_there(3)),
        Column("in_use", "in use", 9, Role.ANSWER, align="center", formula=_if_pair(
            'IF({kind_line}=0,"no",IF(AND(INDEX(Kind_uses,{kind_line})="position",N({learned_from})>0),"yes","no"))')),
        Column("key", "Kind and position in use", 14, Role.WORKING, shrink=True, formula=_if_pair(
            'IF({in_use}="yes",{kind}&" at "&{position},"")')),
        Column("line", "Line of the log", 9, Role.WORKING, align="center", formula=(
            f'IF(ROW()-ROW({PAIR_HEADING_NAME})>MAX(Log_pairs),"",MATCH(ROW()-ROW({PAIR_HEADING_NAME}),Log_pairs,0))')),
        Column("kind_line", "Line above", 8, Role.WORKING, align="center", formula=_if_pair(
            "IFERROR(MATCH({kind},Kind_names,0),0)")),
    ),
)  # fmt: skip
_TITLE_ROW = PAIRS.heading_row - 3
_MORE = (
    f'=IF(MAX(Log_pairs)>{PAIR_ROWS},"The log has "&MAX(Log_pairs)-{PAIR_ROWS}&" more than fit here, and not in use.",'
    '"To use these, choose position above: trees take the need learned where they stand, where there is one.")'
)


def write(workbook: Workbook, contents: Contents) -> None:
    """Write the sheet."""
    sheet = workbook.create_sheet(NAME)
    last = TABLE.letter("source")
    look.write_top(
        sheet,
        "Kinds of fig",
        "Heat units from the visible fig to the first ripe one. In use can be the table's, your own, typed in the "
        "place's own unit, what the sheet Log teaches of the kind, or of the kind at each tree's position.",
        contents.banner,
        last,
    )
    look.write_text(sheet, "A4", _OTHER_RULES, look.BOLD_FONT)
    write_table(sheet, TABLE, merged(STANDING, contents.kinds))
    sheet.row_dimensions[TABLE.first_row].height = 42
    look.mark_checks(sheet, TABLE.cells("need_in_use", "said", sheet=False))
    define(workbook, "Kind_names", TABLE.cells("name"))
    define(workbook, "Kind_needs", TABLE.cells("need_in_use"))
    define(workbook, "Kind_lags", TABLE.cells("lag_in_use"))
    define(workbook, "Kind_spreads", TABLE.cells("spread_in_use"))
    define(workbook, "Kind_grams", TABLE.cells("grams_in_use"))
    define(workbook, "Kind_priors", TABLE.cells("prior"))
    define(workbook, "Kind_uses", TABLE.cells("use_in_use"))
    define(workbook, "Kind_needs_shown", TABLE.cells("need_shown"))
    _write_pairs(workbook, sheet)
    sheet.freeze_panes = f"B{TABLE.first_row}"
    look.set_up_print(sheet, contents.banner, f"A1:{last}{PAIRS.last_row}", TABLE.heading_row, one_page=True)
    sheet.page_setup.fitToWidth = 2
    sheet.print_title_cols = "A:A"


def _write_pairs(workbook: Workbook, sheet: Worksheet) -> None:
    """Write what the log teaches position by position."""
    look.write_section(sheet, _TITLE_ROW, "What the log teaches of each kind, position by position", "H")
    write_table(sheet, PAIRS)
    look.write_text(sheet, f"A{_TITLE_ROW + 1}", _MORE, look.NOTE_FONT)
    count = sheet[f"{PAIRS.letter('in_use')}{PAIRS.heading_row - 1}"]
    count.value = f'=COUNTIF({PAIRS.cells("in_use", sheet=False)},"yes")'
    count.number_format = '0" in use";;'
    look.mark_checks(sheet, PAIRS.cells("learned", sheet=False))
    define(workbook, PAIR_HEADING_NAME, f"{NAME}!$A${PAIRS.heading_row}")
    define(workbook, "Pair_keys", PAIRS.cells("key"))
    define(workbook, "Pair_needs", PAIRS.cells("learned"))
    define(workbook, "Pairs_in_use", f"{NAME}!${count.column_letter}${count.row}")


_OTHER_RULES = (
    '=IF(AND(OR(Heat_method<>"sine",ABS(Heat_base-IF(Unit="F",46.4,8))>0.01),'
    f"COUNTIF({TABLE.cells('use_in_use', sheet=False)},\"table\")>0),"
    '"Mind: the table\'s needs hold for base 8 °C and the sine method, and Place says otherwise. Type your own.","")'
)

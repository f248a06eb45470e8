"""The sheet *Varieties*: how much heat each one needs, how well that is known, how long buds take to show.

Needs learned position by position are chosen for a variety as a whole, for at most 18 of them at a position; the
table's need is the prior of each, so what a variety's other positions teach counts for none of them.
"""

from __future__ import annotations

from openpyxl.worksheet.worksheet import Worksheet

from . import look, positions
from .contents import Contents
from .layout import Column, Page, Paper, Role, Table, answer, entry, words, working
from .rules import YES_NO, Rule, default, listed_in, number_between, one_of, whole_between
from .writing import define, merged

NAME = "Varieties"

_BASIS = (
    "Judgement, scaled from a late kind that took 80–89 days at 24.7 °C, about 1,420 °C·day above 8 °C (Yahata & "
    "Nogata 2000, J. Japan. Soc. Hort. Sci. 69(2)). Days to visible figs, first to last: judgement, no trial was found."
)

#: Heat needs from the visible fig to the first ripe one, base 8 °C, single sine [°C·day]: judgement, see _BASIS.
STANDING = (
    {"name": "early", "need": 1150, "source": _BASIS},
    {"name": "middle", "need": 1300, "source": "As above."},
    {"name": "late", "need": 1450, "source": "As above."},
)
ROWS = 15
LAG, PICKING_HEAT = default("ripen_window", "lag_days"), default("ripen_window", "picking_heat")
#: The middle of the 30 to 65 g of several reports.
GRAMS = 45
#: What is not known of a need, as a share of it: of a variety whose ripening class is known, and of one whose is not.
KNOWN, UNKNOWN = default("latest_prune_date", "need_spread"), "0.12"

#: A fig that ripens on less would be ripe within a week or two (judgement).
_NEED = number_between(100, 20000, "heat units from 100 up, such as 1300")
_HEAT = number_between(0, 20000, "heat units from 0 up, such as 250")
_SHARE = number_between(0, 0.5, "a share such as 6% or 0.06")
_LAG = whole_between(0, 400, "whole days from 0 to 400")
_GRAMS = number_between(1, 1000, "grams such as 45")
#: "position": what the log teaches of the variety at a tree's own position, elsewhere what it teaches of the variety.
USE = one_of("table", "own", "log", "position")
PAIR_ROWS = 18

_IN_UNIT = '{need}*IF(Unit="F",1.8,1)'
#: The table's need in the workbook's unit; a variety that is not in the table starts from the user's own need.
_USUAL = default("learned_heat_need", "table_need")
_PRIOR = f'IF({{need}}<>"",{_IN_UNIT},IF(ISNUMBER({{own_need}}),{{own_need}},{_USUAL}))'
_DATES = "Log_climates,Log_cut_dates,Log_seen_dates,Log_ripe_dates"
_LEARNED = (
    f"LEARNED_HEAT_NEED({_DATES},{{prior}},{{lag_in_use}},Log_kinds,{{name}},Log_positions,{{learn_at}},"
    "{uncertainty_before})"
)


def _if_name(formula: str) -> str:
    return f'IF({{name}}="","",{formula})'


def _own(key: str, name: str, rule: Rule, otherwise: str) -> str:
    """Return the formula of the user's own figure, or of what stands in its place where none is typed."""
    return f'IF({{{key}}}="",{otherwise},{rule.checked(f"{{{key}}}", name)})'


def _learned(number: int) -> str:
    """Return the formula of one part of what the log teaches, blank where the log has no line of the variety."""
    return f'IF(OR(N({{lines}})=0,Climate_in_use=""),"",INDEX({_LEARNED},1,{number}))'


def at_position(kind: str, position: str, otherwise: str, learned: str = "Pair_needs") -> str:
    """Return the formula of a need in use: what the log teaches of the variety at a position, where that is chosen."""
    found = f'MATCH({kind}&" at "&{position},Pair_keys,0)'
    return f"IF(Pairs_in_use=0,{otherwise},IF(ISNUMBER({found}),INDEX({learned},{found}),{otherwise}))"


def of_kind(kind: str, answers: str, position: str = "", learned: str = "Pair_needs") -> str:
    """Return the formula of what a column holds for a variety, as :func:`at_position` says; blank for none listed."""
    found = f"INDEX({answers},MATCH({kind},Kind_names,0))"
    found = at_position(kind, position, found, learned) if position else found
    return f'IF(COUNTIF(Kind_names,{kind})=0,"",{found})'


TABLE = Table(
    sheet=NAME,
    heading_row=6,
    rows=ROWS,
    named_by=("name",),
    checked=("need_in_use", "not_counted"),
    filled=lambda contents: merged(STANDING, contents.kinds),
    formerly="Kinds",
    names={
        "Kind_names": "name", "Kind_needs": "need_known", "Kind_lags": "lag_in_use",
        "Kind_picking_heats": "picking_heat", "Kind_grams": "grams_in_use", "Kind_priors": "prior",
        "Kind_uses": "use_in_use", "Kind_needs_shown": "need_shown", "Kind_uncertainties": "uncertainty",
        "Kind_uncertainties_before": "uncertainty_before", "Kind_early_crops": "bears_early",
    },
    columns=(
        entry("name", "Variety", 16, None, look.TEXT, "left", formerly="Kind"),
        entry("own_need", "Heat need, your own", 10, _NEED, "#,##0"),
        entry("own_uncertainty", "Not known of it, your own", 10, _SHARE, look.SHARE),
        entry("own_lag", "Days from cut to visible figs, your own", 13, _LAG),
        entry("own_picking_heat", "Heat from first to last fig, your own", 12, _HEAT, "#,##0"),
        entry("own_grams", "Grams a fig, your own", 10, _GRAMS),
        entry("use", "Use the need of", 9, USE, look.TEXT, "left"),
        entry("learn_at", "Learn only from trees at", 14, positions.CHOICE, look.TEXT, "left"),
        entry("early_crop", "Bears an early crop", 9, YES_NO, look.TEXT),
        answer("need_in_use", "Heat need in use", 9, "#,##0", _if_name(
            'IF(COUNTIF(Kind_names,{name})>1,"Check: variety "&{name}&" is there "&COUNTIF(Kind_names,{name})&" times",'
            'IF(OR(NOT(ISNUMBER({uncertainty}+{lag_in_use}+{picking_heat}+{grams_in_use})),'
            'LEFT({use_in_use},6)="Check:"),"see right",'
            'IF(OR({use_in_use}="log",{use_in_use}="position"),IF(ISNUMBER({learned}),{learned},IF(Climate_in_use="","",'
            '"Check: no line of the log teaches this variety yet, choose table or own")),'
            f'IF({{use_in_use}}="own",{_NEED.checked("{own_need}", "your own heat need")},'
            f'IF({{need}}<>"",{_IN_UNIT},"Check: heat need is blank, wanted heat units such as 1300")))))')),
        answer("use_in_use", "which is", 8, look.PLAIN, _if_name(
            _own("use", "Use the need of", USE, 'IF({own_need}<>"","own","table")'))),
        answer("uncertainty", "Not known of it, ±", 9, look.SHARE, _if_name(
            'IF(AND(OR({use_in_use}="log",{use_in_use}="position"),ISNUMBER({uncertainty_left})),{uncertainty_left},'
            + _own("own_uncertainty", "Not known of it", _SHARE, "{uncertainty_before}") + ")")),
        answer("learned", "Heat need the log teaches", 10, "#,##0", _learned(1)),
        answer("learned_from", "from so many trees", 9, look.WHOLE, _learned(2)),
        answer("miss", "Typical miss [days]", 9, look.TENTHS, _learned(3)),
        answer("uncertainty_left", "Not known of it then, ±", 9, look.SHARE, _learned(5)),
        answer("lag_in_use", "Days to visible figs in use", 10, look.PLAIN, _if_name(
            _own("own_lag", "Days from cut to visible figs", _LAG, LAG))),
        answer("picking_heat", "Heat first to last in use", 10, "#,##0", _if_name(
            _own("own_picking_heat", "Heat from first to last fig", _HEAT, PICKING_HEAT))),
        answer("grams_in_use", "Grams a fig in use", 9, look.PLAIN, _if_name(
            _own("own_grams", "Grams a fig", _GRAMS, f"{GRAMS}"))),
        answer("latest", "Last cut date in the open", 11, look.DATE_SHORT, (
            'IF(OR({name}="",Climate_in_use="",NOT(ISNUMBER({need_in_use}+Chance_wanted))),"",'
            "IFERROR(0+LATEST_PRUNE_DATE(Climate_in_use,Season_year,{need_in_use},Chance_wanted,{lag_in_use},"
            '{uncertainty}),"none"))')),
        words("not_counted", "Rows of the log that do not count", 24,
            f'IF(OR(N({{lines}})=0,Climate_in_use=""),"",IF({_learned(4)}="","all count",{_learned(4)}))'),
        Column("need", "Heat need, table [°C·day]", 10, Role.TEXT, "#,##0", align="center"),
        Column("source", "Where the table's figures come from", 44, Role.TEXT, wrap=True),
        working("prior", "Table's or own need", _if_name(_PRIOR), "#,##0"),
        working("uncertainty_before", "Not known before the log", _if_name(
            f'IF({_SHARE.fits("{own_uncertainty}")},{{own_uncertainty}},IF({{need}}<>"",{KNOWN},{UNKNOWN}))'),
            look.SHARE),
        working("lines", "Lines of the log", _if_name(
            'IF({learn_at}="",COUNTIFS(Log_kinds,{name},Log_ripe_dates,">0"),'
            'COUNTIFS(Log_kinds,{name},Log_positions,{learn_at},Log_ripe_dates,">0"))')),
        working("bears_early", "Bears one", _if_name('IF({early_crop}="yes","yes","no")')),
        working("need_known", "Heat need, nothing wrong", 'IF(ISNUMBER({need_in_use}),{need_in_use},"")', "#,##0"),
        working("need_shown", "Heat need on Season",
            _if_name(at_position("{name}", "Season_position", "{need_known}")), "#,##0"),
    ),
)  # fmt: skip


#: For cells in which a variety is chosen, on any sheet.
CHOICE = listed_in("Kind_names", "a variety from the sheet Varieties")


def _if_pair(formula: str) -> str:
    return f'IF({{line}}="","",{formula})'


def _learned_there(number: int) -> str:
    """Return the formula of one part of what the log teaches of a variety at a position."""
    prior, lag, uncertain = (
        f"INDEX({name},{{kind_line}})" for name in ("Kind_priors", "Kind_lags", "Kind_uncertainties_before")
    )
    learned = f"LEARNED_HEAT_NEED({_DATES},{prior},{lag},Log_kinds,{{kind}},Log_positions,{{position}},{uncertain})"
    return _if_pair(f'IF({{kind_line}}=0,"",INDEX({learned},1,{number}))')


_PAIRS_ROW = TABLE.last_row + 5
#: In the columns of the table's own working, out of sight like them.
_PAIR_WORKING = Table(
    sheet=NAME,
    heading_row=_PAIRS_ROW,
    rows=PAIR_ROWS,
    first_column=TABLE.number("prior"),
    names={"Pair_keys": "key"},
    columns=(
        working("line", "Row of the log",
            'IF(ROW()-ROW(Pair_heading)>MAX(Log_pairs),"",MATCH(ROW()-ROW(Pair_heading),Log_pairs,0))'),
        working("kind_line", "Line above", _if_pair("IFERROR(MATCH(INDEX(Log_kinds,{line}),Kind_names,0),0)")),
        working("key", "Variety and position in use", _if_pair(
            'IF(AND({kind_line}>0,INDEX(Kind_uses,MAX(1,{kind_line}))="position"),'
            'INDEX(Log_kinds,{line})&" at "&INDEX(Log_positions,{line}),"")')),
    ),
)  # fmt: skip
#: Each column is as wide as the one above it.
PAIRS = Table(
    sheet=NAME,
    heading_row=_PAIRS_ROW,
    rows=PAIR_ROWS,
    beside=_PAIR_WORKING,
    heading_name="Pair_heading",
    checked=("learned", "learned"),
    names={"Pair_needs": "learned", "Pair_uncertainties": "uncertainty"},
    columns=(
        words("kind", "Variety", 16, _if_pair('INDEX(Log_kinds,{line})&""')),
        words("position", "at position", 10, _if_pair('INDEX(Log_positions,{line})&""')),
        answer("learned", "Heat need the log teaches there", 10, "#,##0", _learned_there(1)),
        answer("learned_from", "from so many trees", 13, look.WHOLE, _learned_there(2)),
        answer("miss", "Typical miss [days]", 12, look.TENTHS, _learned_there(3)),
        answer("uncertainty", "Not known of it, ±", 10, look.SHARE, _learned_there(5)),
        answer("in_use", "in use", 9, look.PLAIN, _if_pair('IF({key}="","no","yes")')),
    ),
)  # fmt: skip
_TITLE_ROW = PAIRS.heading_row - 3
_MORE = (
    f'=IF(MAX(Log_pairs)>{PAIR_ROWS},"The log has "&MAX(Log_pairs)-{PAIR_ROWS}&" more than fit here, and not in use.",'
    '"To use these, choose position above: trees take the need learned where they stand, where there is one.")'
)
_OTHER_RULES = (
    '=IF(AND(OR(Heat_method<>"sine",ABS(Heat_base-{base})>0.01),COUNTIF({uses},"table")>0),'
    '"Mind: the table\'s needs hold for base 8 °C and the sine, and Place says otherwise. Type your own.","")'
).format(base=default("climate_of", "base"), uses=TABLE.cells("use_in_use", sheet=False))


def page(rows: int) -> Page:
    """Return the sheet."""
    return Page(
        name=NAME,
        title="Varieties of fig",
        purpose="Heat units from the visible fig to the first ripe one, and how much of it is not known. In use can be "
        "the table's, your own in the workbook's unit, or what the log teaches, at all positions or at each tree's.",
        step="Check the heat needs; type your own, take the log's, add varieties of your own.",
        last_column=TABLE.letter("source"),
        paper=Paper(PAIRS.last_row, TABLE.heading_row),
        tables=(TABLE, PAIRS, _PAIR_WORKING),
        freeze=f"B{TABLE.first_row}",
        lead=_OTHER_RULES,
        more=_write_more,
    )


def _write_more(sheet: Worksheet, contents: Contents) -> None:
    sheet.row_dimensions[TABLE.first_row].height = 56
    look.write_section(sheet, _TITLE_ROW, "What the log teaches of each variety, position by position", "H")
    look.write_text(sheet, f"A{_TITLE_ROW + 1}", _MORE, look.NOTE_FONT)
    count = sheet[f"{PAIRS.letter('in_use')}{PAIRS.heading_row - 1}"]
    count.value = f'=COUNTIF({PAIRS.cells("in_use", sheet=False)},"yes")'
    count.number_format = '0" in use";;'
    define(sheet, "Pairs_in_use", f"${count.column_letter}${count.row}")

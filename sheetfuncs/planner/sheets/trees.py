"""The sheet *Trees*: one row a tree, from what is seen through the year to the last useful date and an advice."""

from __future__ import annotations

from openpyxl.worksheet.worksheet import Worksheet

from . import look, positions, trees_wrong, varieties
from .layout import Column, Page, Paper, Table, answer, entry, working
from .rules import A_DATE, YES_NO, default, number_between, one_of, whole_between

NAME = "Trees"
GROWN_IN = ("container", "ground")
HEADING_ROW = 7

#: How an advice begins that says that a date has gone by, and that one is near.
LATE, SOON = ("Late", "Too late", "Not this", "No fig buds, and"), "Cut now"
#: Days after which one looks again where no buds were seen, as PRUNE_ADVICE says (judgement).
LOOK_AGAIN = 7

_LINE = "ROW()-ROW(Tree_heading)"


def _if_tag(formula: str) -> str:
    """Return a formula that stays blank in a row without a tag."""
    return f'IF({{tag}}="","",{formula})'


def _if_known(formula: str, *more: str) -> str:
    """Return a formula that stays blank where something is missing; the advice says what, once a row."""
    known = ",".join(f"ISNUMBER({{{key}}})" for key in ("need", *more))
    return _if_tag(f'IF(AND({{wrong}}="",{known}),{formula},"")')


def _looked_up(answers: str, names: str, key: str) -> str:
    """Return the formula that looks a choice up on its sheet; blank where it is not there."""
    return _if_tag(f'IF(COUNTIF({names},{{{key}}})=0,"",INDEX({answers},MATCH({{{key}}},{names},0)))')


def _of_variety(answers: str, learned: str = "") -> str:
    """Return the formula of what *Varieties* holds for a tree's, blank where its need is not known."""
    found = varieties.of_kind("{kind}", answers, "{position}" if learned else "", learned)
    known = f'IFERROR(0+{found},"")' if answers == "Kind_needs" else f'IF(ISNUMBER({{need}}),{found},"")'
    return _if_tag(known)


def _ripe(number: int) -> str:
    """Return the formula of one date of the window; a date not reached comes as a text, which is no summand."""
    window = "RIPEN_WINDOW({climate},{start},{need},{picking_heat},{start_lag},0.5,{uncertainty})"
    return _if_tag(f'IF(ISNUMBER({{share}}),IFERROR(0+INDEX({window},1,{number}),"too late"),"")')


def _picked(formula: str) -> str:
    """Return a formula of the days on which a tree's figs are picked; what ripens too rarely comes last."""
    return _if_tag(f'IF(AND(ISNUMBER({{share}}),ISNUMBER({{end}})),{formula},"")')


_LATEST = "LATEST_PRUNE_DATE({climate},Season_year,{need},Chance_wanted,{lag},{uncertainty})"
_ADVICE = (
    'PRUNE_ADVICE(Day_today,{ready},IF(OR({last}="",ISNUMBER({last})),{last},"Check: "&{last}),{buds},{cut_on},'
    "{climate},{need},{lag},{ban},{uncertainty},"
    "{usual},Chance_wanted,{seen_on},{picking_from},{picking_to},{grown_in},{early_crop})"
)


def _advice_or_wrong(entries: tuple[Column, ...]) -> str:
    """Return the formula of the advice, or of the line that says what is wrong with the row."""
    # Cell by cell: a column may have been moved to among the entries.
    filled = ",".join(f"{{{column.key}}}" for column in entries[1:])
    tags = "".join(f"IF({when},{line}," for when, line in trees_wrong.TAGS)
    return (
        f'IF({{tag}}="",IF(COUNTA({filled})=0,"","Check: tag is blank, wanted a name for this row"),'
        f'IF({{wrong}}<>"",IF(LEFT({{wrong}},4)="see ",{{wrong}},"Check: "&{{wrong}}),{tags}'
        f"IF(NOT(ISNUMBER({{share}})),{{share}},{_ADVICE}))" + ")" * (1 + len(trees_wrong.TAGS))
    )


#: Trees still to be cut: the day from which a round may take them. Buds not seen are looked for in a week.
_ROUND_FROM = (
    'IF(AND({cut_on}="",ISNUMBER({latest}),ISNUMBER({ready_from})),IF(MAX({ready_from},Day_today)>{latest},"",'
    f'MAX({{ready_from}},Day_today,IF({{buds}}="yes",0,MIN(Day_today+{LOOK_AGAIN},{{latest}})))),"")'
)


def _with_need(sign: str) -> str:
    """Return the formula of the last date for a need that is higher (+) or lower (-) by what is not known of it."""
    need = f"{{need}}*(1{sign}{{uncertainty}})"
    return f"LATEST_PRUNE_DATE({{climate}},Season_year,{need},Chance_wanted,{{lag}},{{uncertainty}})"


def _columns() -> tuple[Column, ...]:
    short, count, text = look.DATE_SHORT, whole_between(0, 10_000, "a count such as 12"), look.TEXT
    kilograms = number_between(0, 10_000, "kilograms such as 4.5")
    entries = (
        entry("tag", "Tag", 7, None, text, "left"),
        entry("kind", "Variety", 9, varieties.CHOICE, text, "left", "Kind", wrap=True),
        entry("grown_in", "Grown in", 8, one_of(*GROWN_IN), text, "left", "Footing"),
        entry("position", "Position", 10.5, positions.CHOICE, text, "left", wrap=True),
        entry("shoots", "Shoots", 6.5, count),
        entry("minutes", "Minutes to cut", 7.5, number_between(0.1, 1440, "minutes such as 20")),
        entry("leaves", "Leaves on a shoot", 6.5, whole_between(0, 200, "a count such as 6")),
        entry("counted_on", "Counted on", 8, A_DATE, short),
        entry("buds", "Fig buds seen", 5.2, YES_NO, text),
        entry("figs", "Figs on a shoot", 5.4, count),
        entry("cut_on", "Cut on", 7.2, A_DATE, short),
        entry("seen_on", "Figs seen on", 7.2, A_DATE, short),
        entry("picking_from", "First ripe on", 7.2, A_DATE, short),
        entry("picking_to", "Last ripe on", 7.2, A_DATE, short),
        entry("picked", "Picked [kg]", 6.3, kilograms, look.TENTHS),
    )
    answers = (
        answer("advice", "Advice", 41, look.PLAIN, _advice_or_wrong(entries), align="left", wrap=True),
        # A year too short is a fact, no fault: the advice says what binds.
        answer("latest", "Last cut date", 7.2, short, _if_tag('IF({last}="","",IFERROR(0+{last},"none"))')),
        answer("give", "± days", 5, '"± "0', _if_tag(
            f'IF(ISNUMBER({{latest}}),IFERROR(INT(({_with_need("-")}-{_with_need("+")}+1)/2),""),"")')),
        answer("visit", "Round on", 9, short, _if_tag(
            f'IF({{round_from}}="","",IFERROR(INDEX(Round_days,{_LINE}),""))')),
        answer("spare", "Days to spare", 8, look.WHOLE, (
            'IF(AND(ISNUMBER({latest}),ISNUMBER({assumed_cut})),{latest}-{assumed_cut},"")')),
        answer("node", "Cut above node", 9, look.WHOLE, _if_tag(
            'IF(AND({cut_on}="",ISNUMBER({leaves}),ISNUMBER({latest}),LEFT({advice},3)<>"Not",LEFT({advice},3)<>"Too"),'
            "PRUNE_NODE(IF({counted_on}=\"\",Day_today,{counted_on}),{leaves},{latest}+{lag},Days_a_leaf,"
            f"{default('prune_node', 'leave_above')},{default('prune_node', 'nodes_behind')},"
            'IF(ISNUMBER({visit}),{visit},{assumed_cut})),"")')),
        answer("assumed_cut", "Assumed cut", 9, short, _if_tag(
            'IF({cut_on}<>"",{cut_on},IF(AND({wrong}="",ISNUMBER(Day_today)),MAX(Day_today,N({ready}),N({ban}),'
            'IF(ISNUMBER({usual}),IF(ISNUMBER({latest}),MIN({usual},{latest}),{usual}),0)),""))')),
        answer("counted_from", "which is", 13, look.PLAIN, _if_tag(
            'IF({cut_on}<>"","the cut",IF(NOT(ISNUMBER({assumed_cut})),"",IF({assumed_cut}=Day_today,"today",'
            'IF({assumed_cut}=N({ready}),"leaves enough",IF({assumed_cut}=N({ban}),"your first date",'
            'IF({assumed_cut}=N({latest}),"the last date","the usual date"))))))')),
        answer("first_ripe", "First figs ripe", 9, short, _ripe(1)),
        answer("middle_ripe", "Half of them", 9, short, _ripe(2)),
        answer("last_ripe", "Last figs ripe", 9, short, _ripe(3)),
        answer("chance", "Chance of first figs", 9, look.CHANCE, _if_known(
            "RIPEN_CHANCE({climate},{start},{need},{start_lag},{uncertainty})", "start")),
        answer("seasons", "at the need as it stands", 26, look.PLAIN, _if_known(
            "RIPEN_SEASONS({climate},{start},{need},{start_lag})", "start")),
        answer("share", "Share of the crop", 8.5, look.CHANCE, _if_known(
            "CROP_RIPE_SHARE({climate},{start},{need},{picking_heat},{start_lag},{uncertainty})", "start")),
        answer("show_by", "Figs that show later are too late", 11, short, _if_tag(
            'IF(ISNUMBER({latest}),{latest}+{lag},"")')),
        answer("crop", "Possible crop [kg]", 9, look.TENTHS, _if_tag(
            'IF(AND({wrong}="",{shoots}<>"",ISNUMBER({grams}+Figs_usual+Kept_share)),'
            'CROP_WEIGHT({shoots},IF({figs}<>"",{figs},Figs_usual),{grams},Kept_share),"")')),
        answer("ripens", "Expected to ripen [kg]", 9, look.TENTHS, _if_tag(
            'IF(AND(ISNUMBER({crop}),ISNUMBER({share})),{crop}*{share},"")')),
        answer("lost", "Expected lost [kg]", 9, look.TENTHS, _if_tag(
            'IF(ISNUMBER({ripens}),{crop}-{ripens},"")')),
    )  # fmt: skip
    return *entries, *answers, *_workings(entries)


def _workings(entries: tuple[Column, ...]) -> tuple[Column, ...]:
    short = look.DATE_SHORT
    return (
        working("wrong", "What is wrong", _if_tag(trees_wrong.line(entries))),
        working("climate", "Climate", _looked_up("Position_climates", "Position_names", "position")),
        working("need", "Heat need", _of_variety("Kind_needs", "Pair_needs"), "#,##0"),
        working("uncertainty", "Not known of it", _of_variety("Kind_uncertainties", "Pair_uncertainties"), "0.0%"),
        working("lag", "Days to figs", _of_variety("Kind_lags")),
        # Why there is none is no fault, and does not begin as one.
        working("last", "Last cut date, or why none", _if_known(f'IFERROR(0+{_LATEST},MID({_LATEST},8,99))'), short),
        working("picking_heat", "First to last", _of_variety("Kind_picking_heats"), "#,##0"),
        working("grams", "Grams a fig", _of_variety("Kind_grams")),
        working("ban", "Not before", _if_tag(
            'IF({wrong}<>"","",IF({grown_in}="container",IF(Container_ban="","",Container_from),'
            'IF(Ground_ban="","",Ground_from)))'),
            short),
        working("usual", "Usual from", _if_tag(
            'IF({wrong}<>"","",IF({grown_in}="container",Container_from,Ground_from))'), short),
        working("ready", "Leaves enough from", _if_tag(
            'IF(OR({leaves}="",{wrong}<>""),"",READY_TO_PRUNE_FROM(IF({counted_on}="",Day_today,{counted_on}),{leaves},'
            "Leaves_wanted,Days_a_leaf))"), short),
        working("ready_from", "Ready from", _if_tag(
            'IF({wrong}<>"","",MAX(N({ready}),N({ban}),IF({leaves}="",N({assumed_cut}),0),1))'), short),
        # Figs that were seen count from that day, whatever was assumed of the cut.
        working("early_crop", "Bears an early crop", _of_variety("Kind_early_crops")),
        working("start", "Counted from", _if_tag('IF({seen_on}<>"",{seen_on},{assumed_cut})'), short),
        working("start_lag", "Days to figs from there", _if_tag('IF({seen_on}<>"",0,{lag})')),
        working("round_from", "Round from", _if_tag(_ROUND_FROM), short),
        working("round_by", "Round by", _if_tag('IF({round_from}="","",{latest})'), short),
        working("minutes_used", "Minutes", _if_tag(
            'IF({wrong}<>"","",IF({minutes}<>"",{minutes},IF(ISNUMBER(Minutes_a_tree),Minutes_a_tree,"")))')),
        working("visit_key", "Order of the rounds", _if_tag(
            f"IF(ISNUMBER({{visit}}),{{visit}}+(500-{{visit}}+{{round_from}})/1000+({_LINE})/1000000,"
            f'IF(ISNUMBER({{cut_on}}),100000+{{cut_on}}+({_LINE})/1000000,""))'), "0.000000"),
        working("pick_first", "Picked from", _picked(
            "IF({picking_from}<>\"\",{picking_from},IF(ISNUMBER({first_ripe}),{first_ripe},{end}-7))"), short),
        working("pick_last", "Picked to", _picked(
            'IF({picking_to}<>"",{picking_to},MAX({pick_first},IF(ISNUMBER({last_ripe}),{last_ripe},{end}-1)))'),
            short),
        working("end", "Season's end", _looked_up("Position_ends", "Position_names", "position"), short),
    )  # fmt: skip


#: Names for the columns that other sheets ask for.
_NAMES = {
    "Tree_tags": "tag", "Tree_kinds": "kind", "Tree_positions": "position", "Tree_grown_in": "grown_in",
    "Tree_shoots": "shoots", "Tree_buds": "buds", "Tree_picked": "picked", "Tree_advice": "advice",
    "Tree_cut_dates": "cut_on", "Tree_last_dates": "latest", "Tree_assumed_cuts": "assumed_cut",
    "Tree_ready_from": "ready_from", "Tree_needs": "need", "Tree_uncertainties": "uncertainty", "Tree_lags": "lag",
    "Tree_climates": "climate", "Tree_nodes": "node", "Tree_visits": "visit", "Tree_visit_keys": "visit_key",
    "Tree_round_from": "round_from", "Tree_round_by": "round_by", "Tree_minutes": "minutes_used",
    "Tree_crops": "crop", "Tree_ripens": "ripens", "Tree_pick_first": "pick_first", "Tree_pick_last": "pick_last",
    "Tree_ripe_dates": "first_ripe", "Tree_picking_heats": "picking_heat", "Tree_starts": "start",
}  # fmt: skip
_COLUMNS = _columns()


def table(rows: int) -> Table:
    """Return the table with so many rows ready."""
    return Table(
        sheet=NAME, heading_row=HEADING_ROW, rows=rows, columns=_COLUMNS, heading_name="Tree_heading",
        names=_NAMES, named_by=("tag",), checked=("advice", "lost"), filter_to="lost",
        filled=lambda contents: contents.trees, row_height=24,
    )  # fmt: skip


_MEANINGS = (
    "Ripe dates are those reached with a chance of one half. ± days: by so much the last date moves with a heat need "
    "that is as far off as it may well be.",
    "Cut above node: figs further up the shoot set too late to ripen. Leaves count as nodes, from the base up; a shoot "
    "that has fewer loses its tip alone.",
)


def page(rows: int) -> Page:
    """Return the sheet with so many rows ready."""
    trees = table(rows)
    return Page(
        name=NAME,
        title="Trees",
        purpose="One row a tree: type what you see, read what to do. To sort, choose the coloured columns alone.",
        step="List the trees, one a row. Through the year: leaves, buds, the cut, figs seen, first and last ripe, "
        "kilograms.",
        last_column=trees.letter("lost"),
        paper=Paper(min(trees.last_row, HEADING_ROW + 40), trees.shown_row),
        tables=(trees,),
        freeze=f"B{trees.first_row}",
        more=lambda sheet, contents: _write_more(sheet, trees),
    )


def _write_more(sheet: Worksheet, trees: Table) -> None:
    """Write what counts the rows, what the answers mean on their own page, and the marks of what is late or near."""
    for row, line in enumerate(_MEANINGS, start=1):
        look.write_text(sheet, f"{trees.letter('visit')}{row}", line, look.NOTE_FONT, indent=1)
    advice, tags = (trees.cells(key, sheet=False) for key in ("advice", "tag"))
    look.write_text(
        sheet, "A4", f'=IF(COUNTIF({tags},"?*")+COUNT({tags})>COUNTIF({advice},"?*"),"Mind: a row has a tag and no '
        f'formulas. Copy a whole row above over it.","Trees that say Check: "&COUNTIF({advice},"Check:*"))',
        look.BOLD_FONT,
    )  # fmt: skip
    counted = "&".join(
        f'"   {label}: "&' + "+".join(f'COUNTIF({advice},"{word}*")' for word in words)
        for label, words in (("Cut now", (SOON,)), ("Late", LATE[:2]), ("Not this year", LATE[2:3]))
    )
    look.write_text(
        sheet, f"{trees.letter('advice')}4", f'={counted}&"   Cut: "&COUNT({trees.cells("cut_on", sheet=False)})',
        look.BOLD_FONT,
    )  # fmt: skip
    first = {key: f"${trees.letter(key)}{trees.first_row}" for key in ("advice", "cut_on", "spare")}
    late = ",".join(f'LEFT({first["advice"]},{len(word)})="{word}"' for word in LATE)
    for cells in (trees.cells("tag", sheet=False), trees.cells("advice", "lost", sheet=False)):
        look.mark(sheet, cells, f'OR({late},AND({first["cut_on"]}<>"",ISNUMBER({first["spare"]}),{first["spare"]}<0))',
                  "late")
        look.mark(sheet, cells, f'LEFT({first["advice"]},{len(SOON)})="{SOON}"', "soon")

"""``sheetfuncs explain``: the reference of one function from its declaration, or what has to do with a word."""

from __future__ import annotations

from collections.abc import Sequence

import click

from ..functions import all_functions
from ..functions.declare import Function
from .cell_examples import cell_examples


@click.command()
@click.argument("function", required=False, metavar="[FUNCTION or WORD]")
def explain(function: str | None) -> None:
    """Explain a function: what it gives, its arguments, sources, cells to paste. A word: what has to do with it."""
    if function is None:
        click.echo(overview())
        return
    wanted = function.lower().replace("-", "_")
    names = {declared.name: declared for declared in all_functions()}
    if wanted in names:
        click.echo(reference(names[wanted]))
        return
    about = [declared for declared in all_functions() if _is_about(declared, function)]
    if not about:
        raise click.UsageError(f"no function has to do with {function}. `sheetfuncs --help` lists them.")
    click.echo(f"What has to do with {function}:\n")
    click.echo(overview(about))


def _is_about(function: Function, words: str) -> bool:
    """Return whether all words stand in what a function, its help, its arguments or their help say."""
    texts = [function.name, function.theme, function.doc.partition("\nExamples\n")[0]]
    texts += [text for parameter in function.parameters for text in (parameter.name, parameter.help)]
    text = " ".join(texts).lower().replace("_", " ")
    return all(word in text for word in words.lower().replace("_", " ").replace("-", " ").split())


def overview(functions: Sequence[Function] | None = None) -> str:
    """Return functions, all by default, by theme: what each takes, and what it gives."""
    lines: list[str] = []
    theme = ""
    for function in all_functions() if functions is None else functions:
        if function.theme != theme:
            theme = function.theme
            lines += ["", theme] if lines else [theme]
        lines += [f"  {function.signature_text()}", f"      {function.summary}"]
    return "\n".join(lines)


def reference(function: Function) -> str:
    """Return the reference of a function as text."""
    lines = [function.signature_text(), "", function.doc.split("\nExamples\n")[0].rstrip(), "", "Arguments"]
    width = max(len(parameter.name) for parameter in function.parameters)
    for parameter in function.parameters:
        default = f" Default {parameter.default_text}." if parameter.default_text else ""
        optional = "" if parameter.required else " Optional."
        lines.append(f"  {parameter.name:<{width}}  {parameter.help} ({parameter.kind.name}).{optional}{default}")
    headings = ", ".join(function.headings)
    shapes = {"row": f"one row: {headings}", "table": f"rows of {headings}", "column": "a column"}
    shape = shapes.get(function.shape, "one cell")
    lines += ["", f"Gives  {function.result.name}, {shape}", f"Theme  {function.theme}", ""]
    lines += [f"Python        sheetfuncs.{function.name}(...)", f"Command line  sheetfuncs {function.command_name} ..."]
    examples = cell_examples(function)
    if examples:
        lines += ["", "In a cell of a workbook made by sheetfuncs new (the answers are those of an invented valley)"]
        for formula, shown in examples:
            lines += [f"  {formula}", f"      {shown}"]
    return "\n".join(lines)


COMMANDS = (explain,)

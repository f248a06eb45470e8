"""``sheetfuncs explain FUNCTION``: the reference of one function, from its declaration."""

from __future__ import annotations

import click

from ..functions import all_functions
from ..functions.declare import Function


@click.command()
@click.argument("function", required=False)
def explain(function: str | None) -> None:
    """Explain a function: what it gives, its arguments, its sources, an example. Without a name: list them all."""
    if function is None:
        click.echo(overview())
        return
    wanted = function.lower().replace("-", "_")
    names = {declared.name: declared for declared in all_functions()}
    if wanted not in names:
        near = [name for name in names if wanted in name or name in wanted]
        hint = f" Near: {', '.join(near)}." if near else " `sheetfuncs --help` lists them."
        raise click.UsageError(f"there is no function {function}.{hint}")
    click.echo(reference(names[wanted]))


def overview() -> str:
    """Return all functions by theme: what each takes, and what it gives."""
    lines: list[str] = []
    theme = ""
    for function in all_functions():
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
    example = [line for line in function.doc.split("\n") if line.startswith((">>>", "..."))]
    if example:
        shown = function.doc.split("Examples\n")[1].split("\n")[1:]
        lines += ["", "Example (the valley is invented)", *(f"  {line}" for line in shown)]
    return "\n".join(lines)


COMMANDS = (explain,)

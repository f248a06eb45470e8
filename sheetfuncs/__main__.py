"""``python -m sheetfuncs``: the command line."""

from .cli import main

main()

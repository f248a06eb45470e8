"""The macro module inside a macro project, by the library pyOpenVBA.

What comes out is source only: no compiled code is carried along, so that Excel compiles the modules when it opens
the file ([MS-OVBA] 2.3.4.1: version 0xFFFF and no performance cache).
"""

from __future__ import annotations

from typing import Sequence

from ...cells.errors import InputError
from .vba import MODULE

_WORKBOOK_BASE = "0{00020819-0000-0000-C000-000000000046}"
_SHEET_BASE = "0{00020820-0000-0000-C000-000000000046}"
_NO_CACHE = b"\xcc\x61\xff\xff\x00\x00\x00"
_STORAGE = "VBA"


def project_with_wrappers(project: bytes, workbook: str, sheets: Sequence[str], wrappers: str) -> bytes:
    """Return a macro project with the functions' module and a module for each sheet, its references kept.

    project : content of a ``vbaProject.bin``. workbook, sheets : their code names. wrappers : the module's source.
    Raises :class:`InputError` where pyOpenVBA is missing.
    """
    try:
        from pyopenvba import VBAModuleKind, vba
        from pyopenvba.cfb import CFB
    except ImportError:
        raise InputError('pyOpenVBA is not installed, wanted: pip install "sheetfuncs[excel]"') from None

    container = CFB.from_bytes(project)
    modules = vba.parse_vba_project(container)
    present = modules.module_names()
    dropped = [name for name in present if name not in (workbook, *sheets)]
    for name in dropped:
        modules.delete_module(name)
        container.remove_stream_in_storage(_STORAGE, name)
    for name in modules.module_names():
        modules.get_module(name).dirty = True  # written again, without the compiled code before its source
    vba.write_back_modules(container, modules)

    added = [(name, "Document") for name in sheets if name not in present] + [(MODULE, "Module")]
    for name, kind in added:
        if kind == "Document":
            modules.add_module(name, _document(name, _SHEET_BASE), kind=VBAModuleKind.other)
        else:
            modules.add_module(name, wrappers)
        content = vba.rebuild_module_stream(modules.get_module(name), modules.code_page)
        container.add_stream_to_storage(_STORAGE, name, content)

    listing = vba.serialize_project_stream(
        container.get_stream("PROJECT"), {}, add_modules=added, delete_names=set(dropped), code_page=modules.code_page
    )
    names = [(name, name) for name in modules.module_names()]
    container.write_stream("PROJECT", listing)
    container.write_stream("PROJECTwm", vba.serialize_projectwm(names, code_page=modules.code_page))
    container.write_stream_in_storage(_STORAGE, "dir", vba.compress(vba.serialize_dir_stream(modules)))
    container.write_stream_in_storage(_STORAGE, "_VBA_PROJECT", _NO_CACHE)
    return container.to_bytes()


def _document(name: str, base: str) -> str:
    """Return the source of a sheet's own module, which holds no code."""
    attributes = {
        "VB_Name": f'"{name}"', "VB_Base": f'"{base}"', "VB_GlobalNameSpace": "False", "VB_Creatable": "False",
        "VB_PredeclaredId": "True", "VB_Exposed": "True", "VB_TemplateDerived": "False", "VB_Customizable": "True",
    }  # fmt: skip
    return "".join(f"Attribute {key} = {value}\r\n" for key, value in attributes.items())

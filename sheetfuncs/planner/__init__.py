"""Builds the workbook that a grower fills, blank and with an invented holding, by code.

One module a sheet declares its columns or settings and writes it; :mod:`.build` puts the sheets together. The
package knows the functions by their names in formulas only, and no host.
"""

from __future__ import annotations

from .build import DEMO_FILE, TEMPLATE_FILE, build_demo, build_template

__all__ = ["DEMO_FILE", "TEMPLATE_FILE", "build_demo", "build_template"]

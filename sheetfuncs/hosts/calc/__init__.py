"""LibreOffice Calc: the extension made from the declarations, and what runs inside the office.

``declarations`` and ``build`` make the extension and ``install`` adds it, on the user's Python. ``component`` is what
the office loads; what the extension carries with it (named in ``build``) runs on the office's own Python, 3.8 upward.
"""

"""LibreOffice Calc: the extension made from the declarations, and what runs inside the office.

``build`` and ``install`` run on the user's Python. ``names``, ``values``, ``documents`` and ``component`` are carried
by the extension and run on the office's own Python (3.8 upward, standard library only).
"""

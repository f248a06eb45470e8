"""What the science says when it cannot answer."""

from __future__ import annotations


class Unanswerable(ValueError):
    """The data do not allow an answer; the message says why in a grower's words."""

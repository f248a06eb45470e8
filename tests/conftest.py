"""What all tests share: how hard hypothesis tries."""

from __future__ import annotations

from hypothesis import HealthCheck, settings

settings.register_profile(
    "sheetfuncs",
    max_examples=60,
    deadline=None,  # no test may hang on how fast the machine is
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("sheetfuncs")

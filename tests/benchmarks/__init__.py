"""Timings as ratios within one run: ``python -m tests.benchmarks`` prints them all. Never part of a test."""

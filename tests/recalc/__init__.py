"""Recalculating a workbook file in place."""

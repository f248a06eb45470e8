"""The sheets of the planner's workbook, one module a sheet: its columns or settings, and how it is written."""

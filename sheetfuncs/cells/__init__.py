"""What a cell may hold, and how it is read into a value and written back."""

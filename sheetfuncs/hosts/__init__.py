"""The office programs: each carries the declared functions into one of them, and knows no horticulture."""

"""The season's science: heat, frost, and when figs ripen. Pure Python, standard library alone, no I/O."""

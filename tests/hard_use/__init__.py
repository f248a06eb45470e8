"""Hard use: every kind of argument, threads, faults, hostile files, untouched parts, supply chain."""

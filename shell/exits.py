"""Exit codes: few, named, documented in the README."""

DONE = 0
USAGE = 2
BAD_INPUT = 3
BAD_KNOWLEDGE = 4
NOT_FOUND = 5
OUR_BUG = 70
CANCELLED = 130

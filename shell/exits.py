"""Exit codes, few and named and documented in the README, and the error that means not found."""

DONE = 0
USAGE = 2
BAD_INPUT = 3
BAD_KNOWLEDGE = 4
NOT_FOUND = 5
OUR_BUG = 70
CANCELLED = 130


class NotFound(Exception):
    """Something named on the command line does not exist; the message says what does."""

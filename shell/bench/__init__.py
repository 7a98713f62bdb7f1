"""The interactive bench: guided questions, one answer at a time."""

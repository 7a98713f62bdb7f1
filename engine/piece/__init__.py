"""The piece on the bench: its file, its surfaces and what was seen on each."""

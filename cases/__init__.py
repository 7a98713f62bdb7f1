"""Reference cases restated from published literature, and demo pieces of our own invention."""

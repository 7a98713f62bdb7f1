"""Whether the knowledge holds: as it stands, when it is used, and what it cannot tell."""

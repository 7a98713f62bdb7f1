"""What the trade knows, as YAML, each row with its source. Data only: no code."""

"""How answers look on a terminal: harmless text, bars that do not need colour."""

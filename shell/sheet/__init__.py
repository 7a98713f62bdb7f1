"""The printed bench sheet."""

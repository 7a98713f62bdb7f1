"""Finished pieces as cases: kept as YAML, learnt from, scored."""

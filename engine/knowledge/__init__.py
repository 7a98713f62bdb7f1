"""The knowledge base as typed values: loading, layers, cache, lint."""

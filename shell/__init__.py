"""What a person touches: command line, interactive bench, printed sheet."""

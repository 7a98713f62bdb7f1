"""What takes a finish off, what does not, why, at what cost and with what risk."""

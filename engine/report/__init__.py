"""What is told of a piece: the answer, the sanding budget, flags and cautions, where it stands, the reasons."""

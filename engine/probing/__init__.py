"""What the knowledge as a whole can and cannot tell, asked of invented surfaces that are drawn from it."""

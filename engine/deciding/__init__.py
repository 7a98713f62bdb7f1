"""Choosing: what a route costs, which test pays, when to stop asking."""

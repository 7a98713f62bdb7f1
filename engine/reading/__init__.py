"""Reading YAML text that a person wrote, without ever trusting it."""

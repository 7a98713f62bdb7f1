"""Forward chaining over facts about a surface: rules are data, experta is the matcher."""

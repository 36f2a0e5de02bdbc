"""The plan in figures and in words, for programs and terminals."""

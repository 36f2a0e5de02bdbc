"""How much exchanger is required: given, screening, or calculated."""

"""Rule books: every distance with its unit and its source."""

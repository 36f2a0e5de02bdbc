"""Rule books: what documents say, whatever the site."""

"""From files to a site: TOML, and the geometry it names."""

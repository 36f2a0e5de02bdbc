"""A drawing or a list of measured places, checked against the site and not against the plan."""

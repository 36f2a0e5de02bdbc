"""The kinds of feature that sites and rule books speak of."""

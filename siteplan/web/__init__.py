"""The local page to draw a lot and decide: a server on this machine alone, and its page."""

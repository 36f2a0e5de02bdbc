"""One file per command; heavy imports stand inside the command, so that help is instant."""

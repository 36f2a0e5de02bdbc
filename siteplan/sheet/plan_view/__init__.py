"""The plan itself, part by part."""

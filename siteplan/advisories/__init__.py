"""Findings beside the checks, one file per matter."""

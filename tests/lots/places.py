"""Folders that tests read from."""

from pathlib import Path

ROOT = Path(__file__).parents[2]
SAMPLES = ROOT / "samples"
REFERENCES = ROOT / "tests/references"

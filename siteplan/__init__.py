"""Fits a ground heat exchanger to a lot, checks it, and draws the permit package."""

from __future__ import annotations

__version__ = "0.1.0"

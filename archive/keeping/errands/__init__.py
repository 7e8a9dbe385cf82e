"""Errands: work in the background with progress and Stop."""

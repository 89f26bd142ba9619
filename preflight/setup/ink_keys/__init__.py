"""Ink keys: cover in each strip, openings by the plant's own curves, what takes ink off along a lane."""

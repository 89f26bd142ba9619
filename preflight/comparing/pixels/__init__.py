"""The pixels of one pair of plates on one grid: shifts, tones, edits."""

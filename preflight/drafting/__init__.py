"""Tickets and press profiles to fill in: YAML text that says what is known, what is guessed and what is still asked."""

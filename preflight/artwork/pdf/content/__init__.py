"""Content streams to painted objects."""

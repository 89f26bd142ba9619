"""Colour spaces to separations and tints."""

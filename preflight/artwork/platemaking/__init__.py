"""Painted objects to plates."""

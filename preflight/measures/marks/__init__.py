"""Marks of a sheet from outside: found on its plates and among its objects, and told apart by their looks."""

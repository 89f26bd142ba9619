"""Thin commands: they take words from the command line, call the library and print."""

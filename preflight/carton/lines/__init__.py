"""Which strokes are the die: found, tidied, told apart into cuts and creases."""

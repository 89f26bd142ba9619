"""The press sheet as it is printed: plates of the one-up at every blank, or a sheet from outside, in one frame."""

"""One page of both files: which is which, how they lie on each other, plates drawn on one grid, words."""

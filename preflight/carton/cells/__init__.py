"""From lines to blanks: the net, its closed cells, and which groups of them are blanks."""

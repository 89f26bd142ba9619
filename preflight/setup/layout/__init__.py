"""How blanks are laid on a sheet: what may be asked, what comes out, and the search between the two."""

"""What the page means: cut, crease, blank, faces, free areas."""

"""The only rooms that read a PDF: its structure, its colour, its images and its content streams."""

"""A sheet against its one-up: where blanks lie, and what each of them shows."""

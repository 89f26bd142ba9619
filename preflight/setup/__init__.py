"""The set-up of the press: which plate on which unit."""

"""The report: one document, several renderings. ``document`` builds it, the others only show it."""

"""Rules in YAML turn readings into findings; no arithmetic on the page in here."""

"""The plates of both files: how they are paired, what changed of each, and of all together."""

"""Images: what their dictionaries say, their samples decoded, and the tints that these are on plates."""

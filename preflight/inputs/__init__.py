"""What people write: press, ticket and trade tables, read and checked with file, line, key and a guess."""

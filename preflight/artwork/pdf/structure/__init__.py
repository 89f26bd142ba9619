"""What the file is made of: opened, repaired, bounded; page boxes, layers, plain values."""

"""How far ink carries on past the cut line, and which of its ends there are faults."""

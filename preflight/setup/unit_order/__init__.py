"""Which plate on which unit, and which lamp lit: order and lamps solved together. ``plan_press`` is the door."""

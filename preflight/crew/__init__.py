"""What stands on findings and plan: the contents of the set-up sheet, and presses compared."""

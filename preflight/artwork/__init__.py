"""What is on the page. The only code that imports PDF libraries; it hands out plain data."""

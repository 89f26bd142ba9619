"""What is handed out of a page: objects, colours, separations, plates with their pixel arithmetic, matrices."""

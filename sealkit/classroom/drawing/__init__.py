"""Charts and drawings of the course."""

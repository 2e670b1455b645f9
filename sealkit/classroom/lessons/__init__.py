"""One module for each lesson."""

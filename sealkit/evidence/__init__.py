"""Measurements on one engine: what they tell of the build, and what is wrong with them."""

"""Fasteners: threads, strength grades, tightening, stiffness."""

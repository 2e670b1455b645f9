"""Formulas of books and references that serve only to check ours: one module for each."""

"""Gasket zones and the joint they stand in."""

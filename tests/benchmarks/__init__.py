"""Benchmarks: ratios measured in one run. See `tests.benchmarks._tools` for how to add one."""

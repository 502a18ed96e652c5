"""Seeded fuzzing of every parser: `python -m tests.fuzz --inputs 100000`."""

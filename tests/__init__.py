"""The tests of labbook; folders mirror the rooms of the code."""

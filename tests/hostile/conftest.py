"""A person in the small notebook, as in the end-to-end tests."""

from tests.e2e.conftest import hand, replayed, sample, small_made

__all__ = ["hand", "replayed", "sample", "small_made"]

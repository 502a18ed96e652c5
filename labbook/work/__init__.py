"""One function per command: takes a notebook, a clock, a random source; returns a result object."""

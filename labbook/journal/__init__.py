"""The lab journal as values: a snapshot goes in, a mapping of path to bytes comes out."""

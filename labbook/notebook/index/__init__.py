"""The index: one SQLite file in the git directory, which a clone can't bring along.

It holds what can be calculated from the files and from git, and nothing else; deleting it loses
nothing. `store` opens it, `scan` tells which files changed, `files` keeps what was read of them,
`batches` a row for each batch, `commits` what git's log said.
"""

"""The published journal: what a notebook makes public, as Markdown and as pages. Pure."""

"""Views of result objects: terminal text, JSON, Markdown, and plots as SVG text."""

"""Pictures as text: SVG for pages, characters for the terminal, tables for Markdown; all pure.

An SVG is 320 units wide, so that it can be read on the narrowest phone, with no style of its own:
classes, `currentColor`, and attributes that a page's stylesheet may overrule. What differs, differs
in shape and dash too, for print in black and white.
"""

"""labbook, a formula notebook for emulsion makers."""

__version__ = "0.1.0"

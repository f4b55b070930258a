"""fit: does it all go into the box, and where to drill."""

__version__ = "0.1.0"

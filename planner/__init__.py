"""From a course map and a bag to a hole-by-hole plan."""

__version__ = "0.1.0"

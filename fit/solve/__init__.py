"""Find the place for what was left open; the checker disposes."""

from fit.solve.first import Placing, place_open

__all__ = ["Placing", "place_open"]

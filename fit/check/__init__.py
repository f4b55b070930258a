"""Is it right? Rules are pure functions from a scene to findings."""

from fit.check.inspect import inspect, inspected
from fit.check.rule import Family, Inspection, Rule

__all__ = ["Family", "Inspection", "Rule", "inspect", "inspected"]

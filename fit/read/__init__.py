"""From YAML files to the model, with every fault named at its place in its file."""

from fit.read.build import load_box, load_build, load_drawer, load_part
from fit.read.catalogue import Catalogue, Sort, shipped
from fit.read.jsonschema import schemas

__all__ = [
    "Catalogue",
    "Sort",
    "load_box",
    "load_build",
    "load_drawer",
    "load_part",
    "schemas",
    "shipped",
]

"""From YAML files to the model, with every fault named at its place in its file."""

from fit.read.build import build_file, load_box, load_build, load_drawer, load_part
from fit.read.catalogue import Catalogue, Sort, shipped
from fit.read.jsonschema import schemas
from fit.read.panels import load_panel
from fit.read.shells import Shell, ShellFile, load_shell, read_shell, shell_files

__all__ = [
    "Catalogue",
    "Shell",
    "ShellFile",
    "Sort",
    "build_file",
    "load_box",
    "load_build",
    "load_drawer",
    "load_panel",
    "load_part",
    "load_shell",
    "read_shell",
    "schemas",
    "shell_files",
    "shipped",
]

"""One build in many boxes: rows of a table, worked out side by side, kept, joined, told."""

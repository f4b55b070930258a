"""One neutral drawing and its writers: the 1:1 sheets, PDF, DXF."""

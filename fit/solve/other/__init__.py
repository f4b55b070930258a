"""A build in other boxes: what carries over, what moves, what is too small, what is best."""

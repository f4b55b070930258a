"""The trade's published tables and their look-ups. Each table names its source in its own file.

Millimetres and degrees throughout. Nothing is read from disk before it is asked for.
"""

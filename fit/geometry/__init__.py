"""Where everything is: frames, faces, solids, distances, and the scene of a build."""

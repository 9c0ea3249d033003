"""The only place that knows shapely: frames, outlines, the cavity, distances, the way in."""

"""Forms: what a person typed, read into plain document values; faults stand beside fields."""

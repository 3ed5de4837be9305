"""Room outputs."""

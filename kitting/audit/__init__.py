"""Room audit."""

"""Room bill."""

"""Room sourcing."""

"""Room netting."""

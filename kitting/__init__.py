"""Whole kits for engine and gearbox builds: the check, the orders, the audit."""

__version__ = "0.1.0"

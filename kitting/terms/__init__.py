"""Words of the trade: units, money, days, roles, conditions and findings.

Standard library only; every other room may import from here.
"""

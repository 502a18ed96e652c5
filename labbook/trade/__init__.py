"""Reckoning of the trade: composition, weighing, balance, preservation, heat, label, cost."""

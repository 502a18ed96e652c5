"""Data of the trade: limits, rules, cautions, starter sheets, each value with source and date."""

"""Formulas of statistics in plain mathematics, each with its source; nothing of the trade.

The libraries that have them cost more to import than a question may take; every formula is tested
against one.
"""

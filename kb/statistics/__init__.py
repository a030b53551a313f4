"""Formulas of statistics, each with its source; nothing of the trade.

What a question needs stands here in plain mathematics, tested against the libraries that have it:
those cost more to import than a question may take. Off that path scipy and scikit-learn are used.
"""

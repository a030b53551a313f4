"""Use cases: open the store, walk the rooms, return one result.

Each raises `KbError` if the store cannot be opened, something told cannot be understood, or there
is no such job; what else it may raise, it says itself.
"""

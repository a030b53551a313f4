"""The shop case base: a workshop's past jobs, given back when they help.

What is said at the counter flows through the rooms in this order and comes out as advice::

    intake      what was said and measured becomes values
    store       the cases, and the only SQL
    recall      similar past jobs
    diagnosis   ranked causes, fix rates and their intervals
    recurrence  what keeps coming back
    training    what the history teaches
    services    use cases: open the store, walk the rooms, return one result
    reports     results become rows, text, JSON and CSV
    cli         the commands
"""

__version__ = "0.1.0"

"""The shop case base: a workshop's past jobs, given back when they help.

What is said at the counter flows through the rooms in this order and comes out as advice::

    intake           what was said and measured becomes values
    safety           what can hurt somebody
    store            the cases, and the only SQL
    bands            what a reading means
    cards            what the words of a job card name
    recall           similar past jobs
    diagnosis        ranked causes
    rates            which fix holds
    troubleshooting  the open job: the next step
    recurrence       what keeps coming back
    training         what the history teaches
    evaluation       how good the ranking is
    services         use cases: open the store, walk the rooms, return one result
    reports          results become pages, JSON, CSV
    cli              the commands
"""

__version__ = "0.1.0"

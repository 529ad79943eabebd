"""Queries and shapes of others: looked through, then run in a process that can reach nothing.

``screening`` refuses what an engine should not even see, ``running`` asks and reads the answers,
``process`` starts and ends the process, ``child`` is what it runs.
"""

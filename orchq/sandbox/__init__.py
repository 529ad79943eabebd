"""Untrusted queries and shapes: screened, then run in an isolated process.

``screening`` refuses what no engine should see, ``running`` sends requests and reads the answers,
``process`` starts and ends the process, ``child`` is the code that it runs.
"""

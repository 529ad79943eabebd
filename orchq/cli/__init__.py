"""The command line. Exit codes: 0 nothing found, 1 findings, 2 the input or the call is wrong."""

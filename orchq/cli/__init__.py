"""The command line. Exit codes: 0 nothing found, 1 findings, 2 bad input or usage."""

"""Stands for a library that never ends, or takes all memory: a module for ``orchq.bounded``."""

import sys

from orchq.bounded import bind

if __name__ == "__main__":
    bind()
    wants_memory = sys.stdin.read() == "memory"
    print("begun", flush=True)
    held = []
    while True:
        if wants_memory:
            held.append(bytearray(10_000_000))

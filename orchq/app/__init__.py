"""The page on this machine: a small server, and processes that check and draw for it."""

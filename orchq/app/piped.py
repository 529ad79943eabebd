"""Messages between the server and the processes that work for it: JSON after its length."""

import json
from typing import IO, Any

LENGTH = 4
"""Bytes that hold the length of a message, the highest first."""


def packed(message: Any) -> bytes:
    """A message as it is written to a pipe."""
    data = json.dumps(message).encode()
    return len(data).to_bytes(LENGTH) + data


def send(stream: IO[bytes], message: Any) -> None:
    """Write a message at once."""
    stream.write(packed(message))
    stream.flush()


def receive(stream: IO[bytes]) -> Any:
    """Wait for a message; ``None`` when the other side has closed the pipe."""
    head = stream.read(LENGTH)
    if len(head) < LENGTH:
        return None
    return json.loads(stream.read(int.from_bytes(head)))

"""Errors that a caller can act on: the input or the call is wrong."""


class OrchqError(Exception):
    """The input or the call is wrong; the text is one clear sentence for the user."""


class ReadError(OrchqError):
    """A file could not be read; names the file, and the line where there is one."""


class UnknownTermError(OrchqError):
    """A term of our namespace is used that no module declares."""

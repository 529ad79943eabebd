"""The version of the installed package."""


def program_version() -> str:
    """The version of the installed package."""
    from importlib.metadata import version  # noqa: PLC0415 - brings the e-mail package along

    return version("orchq")
